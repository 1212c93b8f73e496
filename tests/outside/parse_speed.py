#!/usr/bin/env python3
"""How fast music21 reads the chord symbols of tests/data/language/symbols.txt, to set beside `cargo bench --bench language`.

    parse_speed.py [SYMBOLS]

Symbols are written as music21 wants them: flats of root and bass as `-`. Those it refuses are left out and counted. Prints
the symbols per second and the microseconds per symbol of the best of five passes.
"""

import re
import sys
import time
from pathlib import Path

from music21 import harmony

PASSES = 5


def as_music21_writes(symbol):
    return re.sub(r"(^|/)([A-G])([b♭]+)", lambda m: m[1] + m[2] + "-" * len(m[3]), symbol).replace("♯", "#")


def reads(figure):
    try:
        return len(harmony.ChordSymbol(figure).pitches) > 0
    except Exception:
        return False


def main():
    default = Path(__file__).parent.parent / "data" / "language" / "symbols.txt"
    symbols = Path(sys.argv[1] if len(sys.argv) > 1 else default).read_text().split()
    figures = [as_music21_writes(symbol) for symbol in symbols]
    refused = [symbol for symbol, figure in zip(symbols, figures) if not reads(figure)]
    figures = [figure for figure in figures if reads(figure)]
    best = float("inf")
    for _ in range(PASSES):
        start = time.perf_counter()
        for figure in figures:
            harmony.ChordSymbol(figure)
        best = min(best, time.perf_counter() - start)
    print(f"read {len(figures)} of {len(symbols)} symbols; refused: {' '.join(refused) or 'none'}")
    print(f"{len(figures) / best:.0f} symbols per second, {best / len(figures) * 1e6:.0f} µs per symbol")


if __name__ == "__main__":
    main()
