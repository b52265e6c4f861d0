"""House form that a linter does not know: length of files and functions, and one mark per test."""

from __future__ import annotations

import ast
import statistics
import sys
from pathlib import Path

FILE_CEILING, FUNCTION_CEILING, MEDIAN_AIM = 600, 80, 200
MARKS = {"analytic", "literature", "reference", "property", "convergence", "golden", "whole"}
ROOT = Path(__file__).resolve().parent.parent


def _functions(tree: ast.AST) -> list[ast.FunctionDef]:
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def _long(path: Path) -> list[str]:
    text = path.read_text("utf-8")
    lines = text.count("\n") + 1
    found = [f"{path}: {lines} lines, ceiling {FILE_CEILING}"] if lines > FILE_CEILING else []
    for node in _functions(ast.parse(text)):
        length = (node.end_lineno or node.lineno) - node.lineno + 1
        if length > FUNCTION_CEILING:
            found.append(f"{path}:{node.lineno}: {node.name} has {length} lines, ceiling {FUNCTION_CEILING}")
    return found


def _marks(decorators: list[ast.expr]) -> set[str]:
    words = {part.attr for each in decorators for part in ast.walk(each) if isinstance(part, ast.Attribute)}
    return words & MARKS


def _unmarked(path: Path) -> list[str]:
    tree = ast.parse(path.read_text("utf-8"))
    whole = next(
        (
            _marks([node.value])
            for node in tree.body
            if isinstance(node, ast.Assign)
            and any(getattr(t, "id", "") == "pytestmark" for t in node.targets)
        ),
        set(),
    )
    return [
        f"{path}:{node.lineno}: {node.name} carries {sorted(marks) or 'no mark'}, one is wanted"
        for node in _functions(tree)
        if node.name.startswith("test_")
        for marks in [_marks(node.decorator_list) or whole]
        if len(marks) != 1
    ]


def main() -> int:
    """Print every trespass; 1 when there is one."""
    sources = sorted(ROOT.glob("src/**/*.py")) + sorted(ROOT.glob("tests/**/*.py"))
    found = [line for path in sources for line in _long(path)]
    found += [line for path in sorted(ROOT.glob("tests/**/test_*.py")) for line in _unmarked(path)]
    print("\n".join(found))
    lines = [path.read_text("utf-8").count("\n") + 1 for path in ROOT.glob("src/**/*.py")]
    print(
        f"{len(lines)} source files, median {statistics.median(lines):.0f} lines (aim {MEDIAN_AIM}), longest {max(lines)}"
    )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
