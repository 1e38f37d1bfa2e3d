"""A coverage-guided search for what a parser cannot take.

Run it as `python -m tests.support.fuzz_atheris PARSER -max_total_time=60`.

Wants atheris, which has wheels for Linux. PARSER is a name of `parsers.py` beside this file, or "all"; what follows
goes to libFuzzer. What is found is printed, written to a file crash-..., and belongs into `FOUND` of
`project/test_fuzz.py`.
"""

from __future__ import annotations

import sys
import tempfile
import warnings
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["wirecalc", "dashboards"]):
    from tests.support.parsers import PARSERS, WORDS, Parser, held


def everything() -> Parser:
    """All in one: the first byte says which."""
    all_of = list(PARSERS.values())
    seeds = [bytes([place]) + seed for place, parser in enumerate(all_of) for seed in parser.seeds]
    return Parser(take=lambda content: all_of[(content or b"\0")[0] % len(all_of)].take(content[1:]), seeds=seeds)


def main() -> None:
    """Search until the limit that the flags set, or until something is found."""
    name, *flags = sys.argv[1:]
    parser = everything() if name == "all" else PARSERS[name]
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as folder:
        seeds, words = Path(folder) / "seeds", Path(folder) / "words"
        seeds.mkdir()
        for number, seed in enumerate(parser.seeds):
            held(parser, seed)  # what is loaded late is loaded before anything is timed
            (seeds / str(number)).write_bytes(seed)
        words.write_text("\n".join('"' + "".join(f"\\x{byte:02x}" for byte in word.encode()) + '"' for word in WORDS))
        longest = max(map(len, parser.seeds)) + 200
        limits = ["-timeout=30", "-rss_limit_mb=2000", f"-max_len={longest}", f"-dict={words}"]
        atheris.Setup([sys.argv[0], str(seeds), *limits, *flags], lambda content: (held(parser, content), None)[1])
        atheris.Fuzz()


if __name__ == "__main__":
    main()
