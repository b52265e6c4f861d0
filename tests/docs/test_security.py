"""The checklist of docs/security.md names tests and pages that there are, and all requirements of the level; and what no source may do."""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

import filmwright

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "security.md"
ROW = re.compile(r"^\| (\d+\.\d+\.\d+) \| ([^|]+) \| ([^|]+) \| ([^|]*) \| ([^|]*) \|$", re.MULTILINE)
ROWS = ROW.findall(PAGE.read_text("utf-8"))
LEVEL_2 = {1: 38, 2: 54, 3: 18, 4: 9, 5: 30, 6: 13, 7: 12, 8: 15, 9: 7, 10: 5, 11: 8, 12: 15, 13: 13, 14: 23}
"""Requirements of each chapter, counted in the table that OWASP publishes (ASVS 4.0.3, column "level 2")."""

SOURCES = sorted(Path(filmwright.__file__).parent.rglob("*.py"))


@pytest.mark.literature
def test_every_requirement_of_level_2_stands_there_once():
    numbers = [row[0] for row in ROWS]
    assert len(set(numbers)) == len(numbers)
    assert Counter(int(each.partition(".")[0]) for each in numbers) == LEVEL_2


@pytest.mark.golden
def test_every_test_and_page_that_is_named_is_there():
    for number, _, state, named, remark in ROWS:
        state, named, remark = state.strip(), named.strip(), remark.strip()
        assert state in {"met", "partly", "gap", "n/a"}, number
        if state == "met":
            assert named, number
        else:
            assert remark, f"{number} must say why"
        for path, test in re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", named):
            tree = ast.parse((ROOT / path).read_text("utf-8"))
            assert test in {each.name for each in tree.body if isinstance(each, ast.FunctionDef)}, (
                f"{number}: {path}::{test}"
            )
        for page in re.findall(r"\]\(([^)]+)\)", named):
            assert (PAGE.parent / page).is_file(), f"{number}: {page}"
        assert not named or "::" in named or "](" in named, number


def calls(tree):
    """Names of what is called, with its room: ``subprocess.run``."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield ast.unparse(node.func), node


@pytest.mark.property
def test_no_source_evaluates_text_or_starts_a_shell():
    for path in SOURCES:
        for name, node in calls(ast.parse(path.read_text("utf-8"))):
            assert name not in {
                "eval",
                "exec",
                "os.system",
                "os.popen",
                "pickle.loads",
                "pickle.load",
                "marshal.loads",
            }, path
            assert not any(each.arg == "shell" for each in node.keywords), path
            if name == "yaml.load":
                # Its plainest loader makes strings only, and what it reads comes with a package.
                assert '"CBaseLoader", yaml.BaseLoader' in path.read_text("utf-8"), path
            assert name != "yaml.unsafe_load", path


@pytest.mark.property
def test_no_weak_digest_is_used():
    for path in SOURCES:
        text = path.read_text("utf-8")
        assert not re.search(r"hashlib\.(md5|sha1)\b", text), path
        if {"bench", "web"} & set(path.parts) and not path.name.startswith("example"):
            assert not re.search(r"^(import random|from random)", text, re.MULTILINE), path


@pytest.mark.property
def test_no_source_calls_out():
    outward = {
        "urllib.request",
        "http.client",
        "requests",
        "httpx",
        "smtplib",
        "ftplib",
        "telnetlib",
        "aiohttp",
        "urllib3",
    }
    for path in SOURCES:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not outward & set(names), path
