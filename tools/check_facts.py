"""Tells everything that is wrong with the shipped facts, or with those of another folder, each at its line."""

from __future__ import annotations

import sys
from pathlib import Path

from filmwright.knowledge import book, problems, read_book


def main(words: list[str]) -> int:
    """Exit code 0 when nothing is wrong, 2 otherwise."""
    try:
        facts = read_book(Path(words[0])) if words else book()
    except ValueError as trouble:
        print(trouble)
        return 2
    found = problems(facts)
    for problem in found:
        print(problem)
    counted = f"{len(facts.materials)} materials, {len(facts.media)} chemistries and plasmas, {len(facts.resists)} resists"
    print(f"{counted}: {len(found) or 'nothing'} wrong")
    return 2 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
