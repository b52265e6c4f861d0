"""Hundreds of made-up requests for each address, of programs and of forms: no fault, every answer to a program as described.

python tools/proof/fuzz_api.py [EXAMPLES]
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent


def main() -> int:
    """Run the tests of the suite with many more examples."""
    examples = sys.argv[1] if len(sys.argv) > 1 else "400"
    return subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "tests/web/test_api_described.py", "tests/web/test_security_posts.py"],
        cwd=ROOT, env={**os.environ, "FILMWRIGHT_API_EXAMPLES": examples}, check=False,
    ).returncode  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
