"""The report of a job: one page that a person reads before printing and takes to the table."""

from __future__ import annotations

from base64 import b64encode
from dataclasses import dataclass

from moldgen.errors import SpecError
from moldgen.export.report.cautions import cautions as cautions
from moldgen.export.report.style import STYLE
from moldgen.export.report.table import Table, table_html, text_html, told_html
from moldgen.finding import (
    Finding,
    Making,
    Severity,
    amount,
    coordinates,
    counted,
    ranked,
    ring_numbers,
    worst,
)
from moldgen.language import in_words, language_now
from moldgen.trust import Trust
from moldgen.units_text import as_read

_PNG_HEAD = b"\x89PNG\r\n\x1a\n"
_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture of the job.

    Attributes
    ----------
    name : str
        Short title.
    caption : str
        What it shows, for those who cannot see it as well.
    png : bytes
        The picture as a PNG file.
    """

    name: str
    caption: str
    png: bytes

    def __post_init__(self) -> None:
        if not self.png.startswith(_PNG_HEAD):
            raise SpecError("png", "the bytes of a PNG picture", f"{self.png[:8]!r}")

    @property
    def size_px(self) -> tuple[int, int]:
        """Width and height, read from the picture's header. [px]."""
        return int.from_bytes(self.png[16:20], "big"), int.from_bytes(self.png[20:24], "big")


_MADE = {Making.PRINT: "printed", Making.BUILD: "built"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """Everything the report says, already in words.

    Attributes
    ----------
    title, subtitle : str
        Name of the job, and what it is.
    making : Making
        Whether it is printed or built.
    summary : tuple of (label, value)
        The few facts read first.
    findings : tuple of Finding
        What the checks said, in any order.
    pictures : tuple of Picture
        What it looks like.
    tables : tuple of Table
        Vents, drill list, features, walls, draw ratios, stock values and their sources.
    steps : tuple of (word, text)
        What to do on the day: heat, form, cool, release, trim.
    trust : tuple of Trust
        How far its kinds of numbers may be trusted.
    cautions : tuple of str
        What can hurt; see `moldgen.export.report.cautions.cautions`.
    job_text : str
        The job file that makes this again.
    files : tuple of (name, what it is for)
        What was written.
    told_verdict : str
        The verdict on several parts; that of the findings if empty.
    """

    title: str
    subtitle: str = ""
    making: Making = Making.PRINT
    summary: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    pictures: tuple[Picture, ...] = ()
    tables: tuple[Table, ...] = ()
    steps: tuple[tuple[str, str], ...] = ()
    trust: tuple[Trust, ...] = ()
    cautions: tuple[str, ...] = ()
    job_text: str = ""
    files: tuple[tuple[str, str], ...] = ()
    told_verdict: str = ""

    @property
    def verdict(self) -> str:
        """One sentence: whether to print."""
        return self.told_verdict or verdict(self.findings, making=self.making)


def verdict(findings: tuple[Finding, ...], *, making: Making = Making.PRINT) -> str:
    """Return one sentence on whether to print or build, from the gravest finding."""
    gravest = worst(findings)
    count = sum(finding.severity is gravest for finding in findings)
    if gravest is Severity.STOP:
        says = "says" if count == 1 else "say"
        return f"Do not {making} this yet: {counted(count, 'finding')} {says} stop."
    if gravest is Severity.CAUTION:
        return f"It can be {_MADE[making]}; read {counted(count, 'caution')} first."
    return f"Ready to {making}: every check passed."


def problem_places(findings: tuple[Finding, ...]) -> dict[str, tuple[float, float]]:
    """Return where to look, by the number of each finding's ring; see `ring_numbers`.

    Returns
    -------
    dict of str to (x, y)
        Number of the ring, and the place on the plan; for `build_plan`. [mm]
    """
    ordered = ranked(findings)
    return {
        str(ring): finding.where_mm[:2]
        for ring, finding in zip(ring_numbers(ordered), ordered, strict=True)
        if ring is not None and finding.where_mm is not None
    }


def report_html_bytes(report: Report) -> bytes:
    """Return the report as one self-contained HTML file.

    Pictures are inside it and nothing is fetched or run, so it can be mailed, kept and printed.

    Notes
    -----
    The same report gives the same bytes.
    """
    sections = [
        _verdict(report), _summary(report), _findings(report), _pictures(report), _steps(report),
        _tables(report), _trust(report), _cautions(report), _files(report), _job(report),
    ]  # fmt: skip
    subtitle = f"\n<p>{told_html(report.subtitle)}</p>" if report.subtitle else ""
    page = (
        '<!DOCTYPE html>\n<html lang="'
        f"{language_now()}"
        '">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{_POLICY}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{text_html(report.title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        f'<header><div class="wrap">\n<h1>{text_html(report.title)}</h1>'
        f"{subtitle}\n</div></header>\n"
        f'<main class="wrap">\n{"".join(sections)}</main>\n</body>\n</html>\n'
    )
    return page.encode("utf-8", "replace")


def _section(name: str, heading: str, body: str, kind: str = "") -> str:
    if not body:
        return ""
    mark = f' class="{kind}"' if kind else ""
    return (
        f'<section{mark} aria-labelledby="{name}">\n<h2 id="{name}">{told_html(heading)}</h2>\n'
        f"{body}\n</section>\n"
    )


def _verdict(report: Report) -> str:
    gravest = worst(report.findings)
    kind = gravest.value if gravest in (Severity.STOP, Severity.CAUTION) else "good"
    return _section("verdict", "Verdict", f"<p>{told_html(report.verdict)}</p>", f"verdict {kind}")


def _summary(report: Report) -> str:
    return _section("summary", "At a glance", _facts(report.summary, ' class="facts"'))


def _facts(pairs: tuple[tuple[str, str], ...], kind: str = "") -> str:
    rows = "\n".join(
        f"<div><dt>{told_html(label)}</dt><dd>{told_html(value)}</dd></div>"
        for label, value in pairs
    )
    return f"<dl{kind}>\n{rows}\n</dl>" if rows else ""


def _findings(report: Report) -> str:
    ordered = ranked(report.findings)
    items = "\n".join(
        _finding(number, finding, ring=ring)
        for number, (finding, ring) in enumerate(
            zip(ordered, ring_numbers(ordered), strict=True), start=1
        )
    )
    body = (
        f'<ol class="findings">\n{items}\n</ol>'
        if items
        else f"<p>{told_html('Nothing to report.')}</p>"
    )
    return _section("findings", "Findings", body)


def _finding(number: int, finding: Finding, *, ring: int | None) -> str:
    subject = f"{in_words(finding.subject)}{as_read(':')} " if finding.subject else ""
    says = as_read(finding.says)
    heading = _capital(f"{subject}{says}")
    place = in_words(finding.place)
    facts = (
        ("measured", _amount(finding.measured, finding.unit)),
        ("limit", _amount(finding.limit, finding.unit)),
        ("where", f"{place} ({in_words('ring')} {ring})" if ring is not None else place),
        ("place" if finding.place else "where", _coordinates(finding)),
    )
    advice = f"\n<p>{told_html(finding.advice)}</p>" if finding.advice else ""
    basis = (
        f'\n<p class="basis">{told_html(f"Basis: {finding.basis}")}</p>' if finding.basis else ""
    )
    return (
        f'<li class="{finding.severity.value}">\n'
        f'<h3><span class="count">{number}</span><span class="word">'
        f"{told_html(finding.severity.value)}</span>{text_html(heading)}</h3>\n"
        f"{_facts(tuple((label, value) for label, value in facts if value))}{advice}{basis}\n</li>"
    )


def _capital(clause: str) -> str:
    return clause[:1].upper() + clause[1:]


def _amount(value: float | None, unit: str) -> str:
    return "" if value is None else amount(value, unit)


def _coordinates(finding: Finding) -> str:
    return "" if finding.where_mm is None else coordinates(finding.where_mm)


def _pictures(report: Report) -> str:
    figures = "\n".join(_figure(picture) for picture in report.pictures)
    body = figures and f'<div class="pictures">\n{figures}\n</div>'
    return _section("pictures", "Pictures", body)


def _figure(picture: Picture) -> str:
    width, height = picture.size_px
    data = b64encode(picture.png).decode("ascii")
    return (
        f'<figure>\n<img src="data:image/png;base64,{data}" width="{width}" height="{height}" '
        f'alt="{told_html(f"{picture.name}: {picture.caption}")}">\n'
        f"<figcaption><strong>{told_html(picture.name)}</strong> "
        f"{told_html(picture.caption)}</figcaption>"
        "\n</figure>"
    )


def _steps(report: Report) -> str:
    rows = "\n".join(
        f"<li><strong>{text_html(_capital(as_read(word)))}.</strong> {told_html(text)}</li>"
        for word, text in report.steps
    )
    return _section("steps", "On the day", rows and f'<ol class="steps">\n{rows}\n</ol>')


def _tables(report: Report) -> str:
    return _section("tables", "Details", "\n".join(table_html(table) for table in report.tables))


def _trust(report: Report) -> str:
    rows = tuple((one.quantity, one.text, one.checked) for one in report.trust)
    table = Table(
        title="What was checked against what",
        header=("What", "How far to trust it", "Checked against"),
        rows=rows,
        note="A figure without a band is told to as many digits as are known, and no further.",
    )
    return _section("trust", "How far to trust the numbers", table_html(table) if rows else "")


def _cautions(report: Report) -> str:
    rows = "\n".join(f"<li>{told_html(caution)}</li>" for caution in report.cautions)
    return _section("cautions", "Cautions", rows and f"<ul>\n{rows}\n</ul>")


def _files(report: Report) -> str:
    rows = "\n".join(
        f"<li><code>{text_html(name)}</code> {told_html(what)}</li>" for name, what in report.files
    )
    return _section("files", "Files", rows and f"<ul>\n{rows}\n</ul>")


def _job(report: Report) -> str:
    text = report.job_text.rstrip("\n")
    name = told_html("job file")
    box = f'<pre tabindex="0" aria-label="{name}"><code>{text_html(text)}</code></pre>'
    return _section("job", "The job file that makes this again", text and box)
