"""How the report looks: one small style sheet for screens, phones and paper.

The harbour palette: deep water for text, dry sand behind it, and red kept for what must stop
the job. Text on its ground keeps a contrast of at least 4.5 to 1 (WCAG 2.1, 1.4.3).
"""

from __future__ import annotations

STYLE = """
:root { --ink: #12283f; --soft: #43566a; --paper: #fffdf8; --sand: #f4eee0; --line: #d8ccb2;
  --stop: #a50d24; --stop-bg: #fbe9ea; --caution: #7a4a00; --caution-bg: #fdf1da;
  --note: #1f4e6b; --note-bg: #e8f0f5; --good: #1d5b3a; --good-bg: #e6f2ea; }
* { box-sizing: border-box; }
html { color-scheme: light; -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0; background: var(--sand); color: var(--ink); line-height: 1.5;
  font-family: system-ui, "Segoe UI", "DejaVu Sans", Arial, sans-serif; font-size: 1rem; }
header { background: var(--ink); color: #fdf8ec; padding: 1.6rem 0 1.4rem; }
.wrap { max-width: 62rem; margin: 0 auto; padding: 0 1.2rem; }
h1 { margin: 0; font-size: 1.9rem; line-height: 1.2; overflow-wrap: anywhere; }
header p { margin: .4rem 0 0; color: #dfe6ea; }
main.wrap { padding-top: 1.2rem; padding-bottom: 2rem; }
section { background: var(--paper); border: 1px solid var(--line); border-radius: .5rem;
  padding: 1rem 1.2rem 1.2rem; margin: 0 0 1.2rem; }
h2 { margin: 0 0 .7rem; font-size: 1.25rem; }
h3 { margin: 1.1rem 0 .4rem; font-size: 1.02rem; }
p { margin: .4rem 0; }
.verdict { border-left-width: .6rem; font-size: 1.15rem; font-weight: 600; }
.verdict h2 { font-size: 1.05rem; margin: 0; color: var(--soft); }
.stop { border-color: var(--stop); background: var(--stop-bg); }
.caution { border-color: var(--caution); background: var(--caution-bg); }
.note { border-color: var(--note); background: var(--note-bg); }
.good { border-color: var(--good); background: var(--good-bg); }
dl.facts { display: grid; grid-template-columns: repeat(auto-fill, minmax(13rem, 1fr));
  gap: .7rem 1.4rem; margin: 0; }
dl.facts dt { color: var(--soft); font-size: .85rem; }
dl.facts dd { margin: 0; font-weight: 600; overflow-wrap: anywhere; }
ol.findings { list-style: none; margin: 0; padding: 0; }
ol.findings > li { border-style: solid; border-width: 0 0 0 .4rem;
  border-radius: .3rem; padding: .6rem .9rem;
  margin: 0 0 .7rem; break-inside: avoid; }
.findings h3 { margin: 0 0 .2rem; }
.word { display: inline-block; min-width: 4.6rem; padding: 0 .5rem; margin-right: .5rem;
  border-radius: .25rem; color: #fff; font-size: .82rem; text-align: center; }
.stop .word { background: var(--stop); } .caution .word { background: var(--caution); }
.note .word { background: var(--note); }
.count { color: var(--soft); margin-right: .5rem; }
.findings dl { display: flex; flex-wrap: wrap; gap: .1rem 1.6rem; margin: .3rem 0 0; }
.findings dl div { display: flex; gap: .4rem; }
.findings dt { color: var(--soft); } .findings dd { margin: 0; }
.basis { color: var(--soft); font-size: .88rem; }
.pictures { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(100%, 40rem), 1fr));
  gap: 1rem; }
figure { margin: 0; break-inside: avoid; }
figure img { width: 100%; height: auto; display: block; border: 1px solid var(--line);
  border-radius: .3rem; background: #fff; }
figcaption { color: var(--soft); font-size: .9rem; margin-top: .3rem; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .92rem;
  font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .35rem .9rem .35rem 0; border-bottom: 1px solid var(--line);
  vertical-align: top; }
th { color: var(--soft); font-weight: 600; border-bottom: 2px solid var(--ink); }
th:last-child, td:last-child { min-width: 9rem; padding-right: 0; }
td.number, th.number { text-align: right; white-space: nowrap; }
ol.steps { padding-left: 1.4rem; margin: 0; } ol.steps li { margin: 0 0 .5rem; }
ul { padding-left: 1.2rem; margin: 0; } li { margin: 0 0 .35rem; }
pre { background: var(--sand); border: 1px solid var(--line); border-radius: .3rem; margin: 0;
  padding: .8rem; overflow-x: auto; font-size: .85rem;
  font-family: ui-monospace, "DejaVu Sans Mono", Consolas, monospace; }
code { font-family: ui-monospace, "DejaVu Sans Mono", Consolas, monospace; font-size: .92em;
  overflow-wrap: anywhere; }
.scroll:focus-visible, pre:focus-visible { outline: 3px solid var(--note); outline-offset: 2px; }
@media (max-width: 40rem) {
  h1 { font-size: 1.5rem; } .wrap { padding: 0 .7rem; } section { padding: .8rem .9rem 1rem; }
  dl.facts { grid-template-columns: 1fr 1fr; gap: .6rem 1rem; }
}
@media print {
  @page { margin: 14mm; }
  body { background: #fff; font-size: 10pt; }
  header { background: #fff; color: #000; border-bottom: 2pt solid #000; padding: 0 0 6pt; }
  header p { color: #333; }
  .wrap { max-width: none; padding: 0; }
  section { border: 0; border-radius: 0; padding: 0; margin: 0 0 12pt; background: none; }
  section.verdict { border-style: solid; border-width: 1.5pt 1.5pt 1.5pt 6pt; padding: 6pt 10pt; }
  ol.findings > li { border-width: 1pt 1pt 1pt 4pt; }
  .word { background: none !important; color: #000; border: 1pt solid #000; }
  h2, h3 { break-after: avoid; } tr { break-inside: avoid; }
  .pictures { grid-template-columns: 1fr; }
  pre { white-space: pre-wrap; } .scroll { overflow: visible; }
}
"""
