"""Stands for the probe's child taken over by a file: does what the file's first word says."""

import os
import sys
import time
from pathlib import Path

match Path(sys.argv[2]).read_text().split():
    case ["crash", *_]:
        os.abort()
    case ["sleep", *_]:
        time.sleep(60)
    case ["babble", *_]:
        while True:
            sys.stdout.write("x" * 10_000)
    case ["nonsense", *_]:
        sys.stdout.write('["neither facts nor problem"]')
    case ["spy", *_]:
        sys.stdout.write(f'{{"facts": {{"seen": {len(os.environ)}}}, "problem": null}}')
