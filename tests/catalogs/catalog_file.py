"""Catalog files: written with where each sentence stands, as translators' programs read them."""

from __future__ import annotations

from collections.abc import Mapping

from moldgen.language import Language
from moldgen.language.catalog import catalog_path, read_entries

_HEAD = """\
msgid ""
msgstr ""
"Project-Id-Version: moldgen\\n"
"Language: {language}\\n"
"MIME-Version: 1.0\\n"
"Content-Type: text/plain; charset=UTF-8\\n"
"Content-Transfer-Encoding: 8bit\\n"
"""


def told_now(language: Language) -> dict[str, str]:
    """Return the entries of a language's catalog."""
    return dict(read_entries(catalog_path(language).read_text(encoding="utf-8")))


def write_catalog(
    language: Language, sentences: Mapping[str, list[str]], told: Mapping[str, str]
) -> list[str]:
    """Write the catalog of a language, and return what is told in it nowhere yet."""
    entries = sorted(sentences.items(), key=lambda one: (one[1][0], one[0]))
    lines = [_HEAD.format(language=language)]
    for words, places in entries:
        mark = "" if "{" not in words else "#, python-brace-format\n"
        lines.append(
            f"#: {' '.join(places[:2])}\n{mark}"
            f"msgid {_quoted(words)}\nmsgstr {_quoted(told.get(words, ''))}\n"
        )
    catalog_path(language).write_text("\n".join(lines), encoding="utf-8")
    return [words for words, _ in entries if not told.get(words)]


def _quoted(words: str) -> str:
    plain = (
        words.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    )
    return f'"{plain}"'
