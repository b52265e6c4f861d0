"""Counts the check values that are reproduced and writes docs/check-values.md; ``make docs`` runs it, a test compares."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "checks"))
from comparing import FILE, entries
from counting import PAGE, page


def main() -> int:
    """Exit code 0; 2 where a check value differs."""
    if not entries():
        print(f"check values are not at {FILE}; {PAGE.name} stays as it is")
        return 0
    text = page()
    PAGE.write_text(text, "utf-8")
    print(text.split("## By kind\n\n")[1].split("## By topic")[0].strip())
    return 2 if "differs" in text.split("## By topic")[0].split("## By kind")[1] else 0


if __name__ == "__main__":
    sys.exit(main())
