#!/usr/bin/env python3
"""Runs what docs/census.md shows, as it stands there: its commands, its code in three tools, its plots.

    guide.py PROGRAM FOLDER [--show] [--pictures]

PROGRAM is the example `census` built with the feature `parquet`; FOLDER is for what is written. The commands are run by PROGRAM on a few
numbers, but for the first, which makes the files that the code reads. All blocks of a tool share their names, in the order of the
page; each leaves an `answer`, and those of the three tools must be equal and print what the page shows. With --show they are printed;
with --pictures the plots are put beside the page.
"""

import json
import math
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

PAGE = Path(__file__).resolve().parents[2] / "docs" / "census.md"
TOOLS = ("duckdb", "polars", "pandas")
LARGEST_PICTURE = 100_000


def blocks(text):
    """Language, tag and text of each block, with the line where it begins."""
    for found in re.finditer(r"^```(\w+) ?(\w*)\n(.*?)^```$", text, re.M | re.S):
        yield found[1], found[2], found[3], text.count("\n", 0, found.start()) + 2


def plain(value):
    """A value of any of the tools in plain Python."""
    if hasattr(value, "tolist"):
        value = value.tolist()
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, (list, tuple)):
        return tuple(map(plain, value))
    return value


def rows_of(answer):
    if hasattr(answer, "fetchall"):
        rows = answer.fetchall()
    elif hasattr(answer, "rows"):
        rows = answer.rows()
    else:
        rows = answer.itertuples(index=False, name=None)
    return [plain(tuple(row)) for row in rows]


def near(one, other):
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(near, one, other))
    if isinstance(one, float) and isinstance(other, float):
        return math.isclose(one, other, rel_tol=1e-9, abs_tol=1e-12)
    return one == other


def shown(rows):
    """As the page prints an answer: columns side by side, lists with blanks between, three places."""

    def cell(value):
        if isinstance(value, tuple):
            return " ".join(map(cell, value))
        return f"{value:.3f}" if isinstance(value, float) else str(value)

    cells = [[cell(value) for value in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*cells)]
    return "".join("  ".join(value.ljust(width) for value, width in zip(row, widths)).rstrip() + "\n" for row in cells)


def arguments(command):
    """What follows `--` in a command of the page."""
    words = shlex.split(command)
    assert words[:2] == ["cargo", "run"] and "--" in words, command
    assert words[words.index("--example") + 1] == "census", command
    return words[words.index("--") + 1 :]


def run_commands(program, text, first):
    """The commands of a block; all but the first block on few numbers, so that they take no time."""
    for command in filter(None, text.replace("\\\n", " ").splitlines()):
        words = arguments(command)
        if not first and not {"--summary", "--count"} & set(words):
            words += ["--range", "0..3000"]
        ended = subprocess.run([program, *words], capture_output=True, text=True)
        assert ended.returncode == 0, f"{command}: {ended.stderr}"


def check_metadata(folder):
    """Each Parquet file says of itself what the manifest says of all."""
    from pyarrow import parquet

    census = json.loads((folder / "manifest.json").read_text())["run"]["census"]
    files = sorted(folder.glob("*.parquet"))
    assert files
    for file in files:
        assert json.loads(parquet.read_metadata(file).metadata[b"overshell-census"]) == census, file


def run_code(text, names, line):
    # Lines in messages are those of the page.
    exec(compile("\n" * (line - 1) + text, str(PAGE), "exec"), names)


def main():
    arguments_given = [word for word in sys.argv[1:] if not word.startswith("--")]
    program, folder = Path(arguments_given[0]).resolve(), Path(arguments_given[1])
    show, pictures = "--show" in sys.argv, "--pictures" in sys.argv
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    os.environ["MPLBACKEND"] = "agg"
    page = PAGE.read_text()
    os.chdir(folder)
    spaces = {tool: {} for tool in TOOLS}
    # Plots are made from the answers of one tool.
    spaces["plot"] = spaces["pandas"]
    answers, counts, commands = {}, {"text": 0, "plot": 0}, 0
    for language, tag, text, line in blocks(page):
        at = f"{PAGE.name}, line {line}"
        if language == "sh":
            run_commands(program, text, commands == 0)
            if commands == 0:
                check_metadata(Path("census-usual"))
            commands += 1
        elif language == "python":
            assert tag in spaces, f"{at}: no such tool"
            if tag in TOOLS:
                spaces[tag].pop("answer", None)
            run_code(text, spaces[tag], line)
            if tag == "plot":
                counts["plot"] += 1
            elif "answer" in spaces[tag]:
                answers[tag] = rows_of(spaces[tag]["answer"])
        elif language == "text":
            assert set(answers) == set(TOOLS), f"{at}: answers of {sorted(answers)} only"
            first = answers[TOOLS[0]]
            for tool in TOOLS[1:]:
                other = answers[tool]
                assert len(first) == len(other), f"{at}: {len(first)} rows by {TOOLS[0]}, {len(other)} by {tool}"
                for one, two in zip(first, other):
                    assert near(one, two), f"{at}: {one} by {TOOLS[0]}, {two} by {tool}"
            if show:
                print(shown(first))
            else:
                assert text == shown(first), f"{at}: the page shows\n{text}and the answer is\n{shown(first)}"
            answers = {}
            counts["text"] += 1
        else:
            raise AssertionError(f"{at}: nobody runs `{language}`")
    assert not answers, "an answer that the page does not show"
    assert commands >= 2 and counts == {"text": 4, "plot": 3}, (commands, counts)

    drawn = re.findall(r"!\[[^\]]+\]\(([\w.-]+)\)", page)
    assert len(drawn) == 3, drawn
    for name in drawn:
        picture = Path(name)
        assert 2_000 < picture.stat().st_size <= LARGEST_PICTURE, (name, picture.stat().st_size)
        if pictures:
            shutil.copy(picture, PAGE.parent / name)
        committed = PAGE.parent / name
        assert 2_000 < committed.stat().st_size <= LARGEST_PICTURE, name
    print(f"docs/census.md: {commands} blocks of commands, 4 answers, the same by {', '.join(TOOLS)}, as shown; 3 plots")


if __name__ == "__main__":
    main()
