#!/usr/bin/env python3
"""Opens pages for paper in headless Chromium, prints them and reads what was printed with pypdf.

    browser.py FOLDER

For every STEM.html in FOLDER:
  - the browser has nothing to say on its console, error or warning;
  - nothing is wider than the window: on a telephone turned on its side, on a screen, and as wide as the paper of A4 and Letter between their
    margins, laid out as for print;
  - printed on A4 and on Letter, every page has that size and no text stands outside of the margins;
  - the first page has the heading and the caution on stretches, above all else, and the pages together have the heading of
    every section.
Before that a page with a fault of each kind is looked at in the same way, and each must be found.

Exits with 0 where all is so, 1 where anything is not, 2 where there is nothing to open.
"""

import json
import re
import subprocess
import sys
import tempfile
from html import escape
from pathlib import Path

from pypdf import PdfReader

CAUTION = "The usual caution:"
MM = 72 / 25.4
# Width and height in mm; the margins that the page asks for.
PAPER = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MARGIN = 12
# Widths of windows in CSS pixels, of which 96 are an inch; with `print` for the style for print.
WINDOWS = [(640, False), (1000, False)] + [(int((width - 2 * MARGIN) / 25.4 * 96), True) for width, _ in PAPER.values()]

# Says of each frame how wide it is, how wide its content is, and what reaches out of it.
MEASURE = """
const results = [];
function measure(frame) {
  const page = frame.contentDocument, root = page.documentElement, out = [];
  for (const element of page.body.querySelectorAll('*')) {
    const box = element.getBoundingClientRect();
    if (box.width > 0 && (box.right > root.clientWidth + 1 || box.left < -1)) out.push(element.tagName.toLowerCase());
  }
  const caution = page.querySelector('.caution');
  const before = page.querySelector('main');
  results.push({
    index: Number(frame.dataset.index), client: root.clientWidth, scroll: root.scrollWidth, out: out.slice(0, 3),
    caution: caution ? caution.getBoundingClientRect().bottom : -1, main: before ? before.getBoundingClientRect().top : -1,
  });
  if (results.length === document.querySelectorAll('iframe').length) {
    const text = document.createElement('pre');
    text.id = 'results';
    text.textContent = JSON.stringify(results);
    document.body.append(text);
  }
}
"""

BAD = """<!DOCTYPE html><html lang="en"><head><title>Bad</title><style>@page { margin: 12mm; }</style></head><body>
<main><h1>Bad</h1><h2>Lost</h2><p style="white-space: nowrap; width: 900mm">""" + "too wide " * 80 + """</p></main>
<script>console.error('something is wrong');</script></body></html>"""


def chromium(*arguments: str) -> subprocess.CompletedProcess:
    command = ["chromium", "--headless", "--no-sandbox", "--disable-gpu", "--enable-logging=stderr", *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True, timeout=300)


def measured(pages: dict[str, str], scratch: Path) -> dict[str, list[str]]:
    """What is too wide in each page, asked of all pages at once."""
    asked = [(name, width, printed) for name in pages for width, printed in WINDOWS]
    frames = []
    for index, (name, width, printed) in enumerate(asked):
        text = pages[name].replace("@media print", "@media all") if printed else pages[name]
        frames.append(
            f'<iframe data-index="{index}" onload="measure(this)" style="width: {width}px; height: 800px; border: 0"'
            f' srcdoc="{escape(text)}"></iframe>'
        )
    harness = scratch / "harness.html"
    harness.write_text(f"<!DOCTYPE html><script>{MEASURE}</script>{''.join(frames)}", encoding="utf-8")
    printed = chromium("--virtual-time-budget=60000", "--dump-dom", harness.as_uri()).stdout
    results = re.search(r'<pre id="results">(.*?)</pre>', printed, re.S)
    found: dict[str, list[str]] = {name: [] for name in pages}
    assert results, "the browser has measured nothing"
    for result in json.loads(results[1].replace("&lt;", "<").replace("&amp;", "&")):
        name, width, for_print = asked[result["index"]]
        what = f"{width} px{' as for print' if for_print else ''}"
        # A bar to scroll with takes some of the window.
        if not width - 20 <= result["client"] <= width:
            found[name].append(f"{what}: the window is {result['client']} px wide")
        if result["scroll"] > result["client"] or result["out"]:
            found[name].append(f"{what}: {result['scroll']} px wide, reaching out {result['out']}")
        if not 0 < result["caution"] <= result["main"]:
            found[name].append(f"{what}: the caution is not above the rest")
    return found


def printed(path: Path, paper: str, scratch: Path) -> tuple[list[str], int]:
    """What is wrong with a page on paper, and how many sheets it takes."""
    width, height = PAPER[paper]
    copy, pdf = scratch / f"{path.stem}-{paper}.html", scratch / f"{path.stem}-{paper}.pdf"
    text = path.read_text(encoding="utf-8")
    copy.write_text(text.replace("</style>", f"@page {{ size: {width}mm {height}mm; }}</style>", 1), encoding="utf-8")
    said = chromium("--no-pdf-header-footer", f"--print-to-pdf={pdf}", copy.as_uri()).stderr
    found = [line.split("CONSOLE", 1)[1] for line in said.splitlines() if ":CONSOLE" in line]
    pages = PdfReader(pdf).pages
    words = []
    for number, page in enumerate(pages, 1):
        size = float(page.mediabox.width), float(page.mediabox.height)
        if any(abs(a - b * MM) > 2 for a, b in zip(size, (width, height))):
            found.append(f"page {number} is {size}")
        outside: list[str] = []

        def place(part, now, matrix, _font, _size, outside=outside):
            # Where the text begins, by both matrices, from the lower left of the paper.
            x = matrix[4] * now[0] + matrix[5] * now[2] + now[4]
            if part.strip() and not (MARGIN - 1) * MM <= x <= (width - MARGIN) * MM:
                outside.append(part.strip())

        words.append(" ".join(page.extract_text(visitor_text=place).split()))
        if outside:
            found.append(f"page {number}: outside of the margins {outside[:3]}")
        # Chromium makes everything smaller where anything is too wide for the paper.
        if not words[-1]:
            found.append(f"page {number} is empty")
    headings = [" ".join(re.sub("<.*?>", "", h).split()) for h in re.findall(r"<h[12].*?>(.*?)</h[12]>", text, re.S)]
    plain = [heading.replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">") for heading in headings]
    if CAUTION not in words[0] or words[0].index(CAUTION) > len(plain[0]) + 5:
        found.append("the caution is not at the top of the first page")
    everything = " ".join(words)
    found += [f"the heading `{heading}` is not printed" for heading in plain if heading not in everything]
    return [f"{paper}: {fault}" for fault in found], len(pages)


def main() -> int:
    paths = sorted(Path(sys.argv[1]).glob("*.html"))
    if not paths:
        print("no pages", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as name:
        scratch = Path(name)
        bad = scratch / "bad.html"
        bad.write_text(BAD, encoding="utf-8")
        pages = {path.stem: path.read_text(encoding="utf-8") for path in paths}
        wide = measured(pages | {"bad": BAD}, scratch)
        of_bad = " ".join(wide.pop("bad") + printed(bad, "A4", scratch)[0])
        for fault in ("reaching out", "something is wrong", "caution is not above", "caution is not at the top"):
            assert fault in of_bad, f"not found where it is: {fault}"
        failed = 0
        for path in paths:
            found, sheets = wide[path.stem], {}
            for paper in PAPER:
                faults, sheets[paper] = printed(path, paper, scratch)
                found = found + faults
            failed += bool(found)
            print(f"{path.name}: {', '.join(f'{count} pages of {paper}' for paper, count in sheets.items())}")
            for fault in found:
                print(f"  {fault}")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
