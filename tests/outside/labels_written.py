"""Checks that mir_eval hears in each of our chord labels the root, the keys and the bass that we mean.

    labels_written.py FILE

FILE has a label, the key of its root, the keys above the root as bits and the key of the bass above the root in each
line, as tests/vocabulary_written.rs leaves them.
"""

import sys
from pathlib import Path

from mir_eval import chord

EXPECTED = 4_704 + 34 * 80 + 35 * 34

lines = Path(sys.argv[1]).read_text().splitlines()
wrong = []
for line in lines:
    label = line.split("\t")[0]
    root, bits, bass = chord.encode(label, reduce_extended_chords=True)
    heard = "\t".join([label, str(root), "".join(str(bit) for bit in bits), str(bass)])
    if heard != line:
        wrong.append(f"we mean {line}, mir_eval hears {heard}")
if len(lines) != EXPECTED:
    wrong.append(f"{len(lines)} labels, expected {EXPECTED}")
print(f"{len(lines)} labels, {len(wrong)} of them heard otherwise")
sys.exit("\n".join(wrong[:20]) if wrong else 0)
