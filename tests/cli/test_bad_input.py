"""Bad input at every verb: place, expectation, what came, why and remedy; exit 2; nothing half-written; the same as fields."""

import re
import shutil
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

FORM = re.compile(
    r"^(?P<place>[^\n]+?): (?P<what>.+?) must be (?P<expected>.+?), got (?P<got>.+?) — (?P<why>.+?); (?P<remedy>.+)$"
)
GATE = "    thickness: 60 nm ± 5 %"
SPOILED = {
    # name: what is replaced in the plan, by what, a word that the message must hold
    "wrong unit": (GATE, "    thickness: 60 mTorr", "length"),
    "no unit": (GATE, "    thickness: 60", "60 nm"),
    "unknown material": ("- deposit: gold", "- deposit: goldd", "gold"),
    "unknown key": (GATE, "    thicknes: 60 nm", 'did you mean "thickness"?'),
    "missing mask layer": ("opening: {layer: 3/0", "opening: {layer: 13/0", "13/0"),
    "cut outside the drawing": ("{through: T01}", "{from: [1 mm, 1 mm], to: [70 mm, 1 mm]}", "70000"),
    "cut through a device that is not there": ("{through: T01}", "{through: T1000}", 'did you mean "T10"?'),
    "cut off": ("    in: dilute hydrogen peroxide and ammonia\n", "    in: [dilute hydrogen", "plan.yaml"),
    "duplicate step name": ("    name: contact metal\n", "    name: gate metal\n", "gate metal"),
    "unknown bath": ("    in: dilute oxalic acid", "    in: dilute oxalic acyd", 'did you mean "dilute oxalic acid"?'),
    "unknown mask": ("- pattern: channel", "- pattern: chanel", 'did you mean "channel"?'),
    "unknown step": ("- anneal: air", "- aneal: air", 'did you mean "anneal"?'),
    "unknown tone": ("{layer: 1/0, drawn: opaque}", "{layer: 1/0, drawn: dark}", "opaque"),
    "drawing not there": ("drawing: humidity-switch.oas", "drawing: elsewhere.oas", "elsewhere.oas"),
    "tool that the lab has not": ("    name: gate metal\n", "    name: gate metal\n    tool: evaporater\n", 'did you mean "evaporator"?'),
}  # fmt: skip
WRONG_PLACES = (
    "review nowhere.yaml",
    "review my-run",
    "review my-run/humidity-switch.oas",
    "review my-run/plan.yaml --lab nowhere.yaml",
    "extract nowhere.csv",
    "extract my-run",
    "draw my-run/plan.yaml --into my-run/plan.yaml",
    "sheet my-run/plan.yaml --into my-run",
    "run my-run/plan.yaml --record my-run",
    "settings my-run/plan.yaml --record my-run/plan.yaml",
)
VERBS = {
    "review": (), "settings": (), "draw": ("--into", "pictures"), "sheet": ("--into", "sheet.pdf"), "run": ("--wafers", "2"),
}  # fmt: skip


def listing(folder: Path) -> dict[str, bytes]:
    """Every file below a folder with its content."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def told(said) -> list[str]:
    """The problems on the screen, after checking their form."""
    assert said.code == 2, said.out + said.err
    assert said.out == ""
    assert "Traceback" not in said.err
    *problems, last = said.err.splitlines()
    assert last.endswith("nothing was written.")
    assert all(FORM.match(line) for line in problems), said.err
    assert int(last.split()[0]) == len(problems)
    return problems


@pytest.mark.whole
@pytest.mark.parametrize("name", SPOILED)
def test_a_spoiled_plan_is_told_with_its_line(filmwright, switch: Path, name: str):
    old, new, word = SPOILED[name]
    plan = switch / "plan.yaml"
    text = plan.read_text("utf-8")
    assert text.count(old) == 1
    plan.write_text(text.replace(old, new), "utf-8")
    line = text[: text.index(old)].count("\n") + 1
    problems = told(filmwright("review", "my-run/plan.yaml"))
    assert any(word in problem for problem in problems), problems
    if name == "drawing not there":
        assert problems[0].startswith("my-run/elsewhere.oas: ")
        return
    found = [int(m[1]) for problem in problems if (m := re.match(r"my-run/plan\.yaml:(\d+): ", problem))]
    # A key missing from a step is told at the step, one line earlier; a text that was cut off where the reader stumbles.
    last = text.count("\n") if name == "cut off" else line + 1
    assert any(line - 1 <= place <= last for place in found), (line, problems)


@pytest.mark.whole
@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_on_a_plan_tells_the_same_and_writes_nothing(
    filmwright, switch: Path, tmp_path: Path, verb: str
):
    plan = switch / "plan.yaml"
    text = plan.read_text("utf-8")
    for name in ("wrong unit", "unknown material", "missing mask layer", "unknown key"):
        old, new, _ = SPOILED[name]
        text = text.replace(old, new) if old in text else text.replace("    power: 80 W", "    powre: 80 W")
    plan.write_text(text, "utf-8")
    before = listing(tmp_path)
    problems = told(filmwright(verb, "my-run/plan.yaml", *VERBS[verb]))
    # All of them at once, in order of their lines.
    assert len(problems) >= 3
    lines = [int(problem.split(":")[1]) for problem in problems]
    assert lines == sorted(lines)
    said = filmwright(verb, "my-run/plan.yaml", *VERBS[verb], "--json")
    assert said.code == 2
    assert said.err == ""
    assert set(said.fields) == {"problems"}
    for fields, problem in zip(said.fields["problems"], problems, strict=True):
        assert set(fields) == {"what", "expected", "got", "why", "remedy", "file", "line", "column"}
        assert problem == (
            f"{fields['file']}:{fields['line']}: {fields['what']} must be {fields['expected']}, got {fields['got']} — "
            f"{fields['why']}; {fields['remedy']}"
        )
    assert listing(tmp_path) == before


@pytest.mark.whole
@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("deposition rate: 0.10 nm/s ± 4 %", "deposition rate: 0.10 nm ± 4 %", "rate"),
        ("  stylus:", "  stylus: {dose: 3}\n  x:", "dose"),
        ("date: 2026", "date: yesterday-2026", "date"),
        ("tool: spinner, material", "tool: spinnner, material", "spinner"),
    ],
)
def test_a_spoiled_lab_file_is_told_with_its_line(filmwright, switch: Path, old: str, new: str, word: str):
    lab = switch / "lab.yaml"
    text = lab.read_text("utf-8")
    assert old in text
    lab.write_text(text.replace(old, new, 1), "utf-8")
    problems = told(filmwright("review", "my-run/plan.yaml"))
    assert any(re.match(r"my-run/lab\.yaml:\d+: ", problem) and word in problem for problem in problems), (
        problems
    )


@pytest.mark.whole
@pytest.mark.parametrize("line", WRONG_PLACES)
def test_files_that_are_not_there_or_not_files_are_told(filmwright, switch: Path, tmp_path: Path, line: str):
    before = listing(tmp_path)
    told(filmwright(*line.split()))
    assert filmwright(*line.split(), "--json").fields["problems"]
    assert listing(tmp_path) == before


@pytest.mark.whole
def test_an_option_does_not_swallow_the_next_one(filmwright, switch: Path, tmp_path: Path):
    before = listing(tmp_path)
    said = filmwright("draw", "my-run/plan.yaml", "--gif", "--png")
    assert said.code == 2
    assert "--png" in said.out + said.err
    assert listing(tmp_path) == before


@pytest.mark.whole
def test_the_demo_touches_no_folder_that_it_did_not_make(filmwright, switch: Path, tmp_path: Path):
    before = listing(tmp_path)
    assert filmwright("demo", "my-run").code == 2
    assert filmwright("demo", "my-run", "--json").fields["problems"]
    assert listing(tmp_path) == before


TABLES = {
    "empty": b"",
    "only spaces": b" \n \n",
    "no drain current": b"VG (V),VD (V)\n0,1\n1,1\n2,1\n",
    "one row": b"VG (V),VD (V),ID (A)\n0,0.1,1e-9\n",
    "all NaN": b"VG (V),VD (V),ID (A)\n" + b"".join(b"%d,0.1,nan\n" % gate for gate in range(40)),
    "junk": bytes(range(256)) * 9,
    "header only": b"VG (V),VD (V),ID (A)\n",
    "a picture": b"\x89PNG\r\n\x1a\n" + b"\0" * 500,
    "an archive": b"PK\x03\x04" + b"\0" * 200,
    "an old workbook": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
}


@pytest.mark.whole
@pytest.mark.parametrize("name", TABLES)
@pytest.mark.parametrize("suffix", [".csv", ".xls"])
def test_a_table_that_holds_no_curve_is_told(filmwright, tmp_path: Path, name: str, suffix: str):
    (tmp_path / f"T01{suffix}").write_bytes(TABLES[name])
    problems = told(filmwright("extract", f"T01{suffix}"))
    assert all(problem.startswith(f"T01{suffix}") for problem in problems)
    fields = filmwright("extract", f"T01{suffix}", "--json").fields
    assert len(fields["problems"]) == len(problems)
    assert [path.name for path in tmp_path.iterdir()] == [f"T01{suffix}"]


@pytest.mark.whole
def test_wrong_words_and_wrong_tables_of_extract_come_together(filmwright, tmp_path: Path):
    (tmp_path / "T01.csv").write_bytes(b"")
    problems = told_without_place(
        filmwright("extract", "T01.csv", "--width", "3 bananas", "--length", "-1 um")
    )
    assert len(problems) == 3


def told_without_place(said) -> list[str]:
    """Problems of words that stand in no file."""
    assert said.code == 2
    *problems, _ = said.err.splitlines()
    assert all(" must be " in line and ", got " in line and " — " in line for line in problems)
    return problems


@pytest.mark.whole
def test_a_good_table_beside_a_bad_one_is_still_read(filmwright, tmp_path: Path):
    rows = "".join(f"{gate / 10:.1f},0.1,{max(gate - 10, 0) * 1e-8 + 1e-12:.6e}\n" for gate in range(60))
    (tmp_path / "good.csv").write_text("VG (V),VD (V),ID (A)\n" + rows, "utf-8")
    (tmp_path / "bad.csv").write_bytes(b"")
    said = filmwright("extract", "good.csv", "bad.csv", "--json")
    assert said.code == 1
    assert len(said.fields["curves"]) == 1
    assert any("bad.csv" in problem for problem in said.fields["problems"])


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory, shipped: Path) -> Path:
    """A folder in which random files are put beside a drawing and a lab file."""
    return Path(shutil.copytree(shipped / "platinum-thermometer", tmp_path_factory.mktemp("random") / "run"))


def ends_well(*words: object) -> None:
    """A command that ends with 0, 1 or 2 and with no exception."""
    from typer.testing import CliRunner

    from filmwright.cli.app import app

    result = CliRunner().invoke(app, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), repr(result.exception)
    assert result.exit_code in {0, 1, 2}
    assert "Traceback" not in result.output


NUMBERS = st.one_of(st.floats(), st.integers(-(10**6), 10**6)).map(str)
CELLS = st.one_of(
    NUMBERS,
    st.sampled_from(["VG", "ID (A)", "VD [V]", "", "nan", "inf", "1e999", "-", "1,5", "ID", "IG", "#"]),
)
ROWS = st.lists(st.lists(CELLS, max_size=5).map(",".join), max_size=12).map("\n".join)


@pytest.mark.property
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.one_of(
        st.binary(max_size=300),
        ROWS.map(str.encode),
        ROWS.map(lambda text: f"VG (V),VD (V),ID (A)\n{text}".encode()),
    )
)
@example(b"VG,ID\n" + b"1,1e308\n" * 30)
@example(b"VG,VD,ID\n" + b"1,0.1,1e-9\n" * 30)
@example("VG,ID\n1,²\n2,٣\n".encode())
def test_random_tables_never_end_in_a_traceback(bench: Path, content: bytes):
    (bench / "T01.csv").write_bytes(content)
    ends_well(
        "extract",
        bench / "T01.csv",
        "--width",
        "100 um",
        "--length",
        "10 um",
        "--capacitance",
        "62 nF/cm^2",
        "--json",
    )


PIECES = (
    "flow|wafer|steps|masks|expect|cuts|name|deposit|platinum|90 nm|1e400 nm|-5 nm|±|- |: |\n|  |{|}|[|]|null|yes|1"
    "|&a|*a|!!python/object:os.system|'|\"|#|\t"
)
WORDS = st.sampled_from([*PIECES.split("|"), "|"])


@pytest.mark.property
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.one_of(
        st.binary(max_size=200), st.lists(WORDS, max_size=40).map(lambda words: " ".join(words).encode())
    )
)
@example(b"a: &a [*a, *a]\n")
@example(b"flow: x\nflow: y\n")
@example(b"[" * 900)
@example(b"flow: 2026-02-30\nsteps: {}\nwafer: 3\n")
def test_random_plans_never_end_in_a_traceback(bench: Path, content: bytes):
    (bench / "random.yaml").write_bytes(content)
    ends_well("review", bench / "random.yaml")


@pytest.mark.property
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_plan_with_a_piece_torn_out_or_doubled_never_ends_in_a_traceback(bench: Path, data: st.DataObject):
    text = (bench / "plan.yaml").read_text("utf-8")
    lines = text.splitlines(keepends=True)
    first = data.draw(st.integers(0, len(lines) - 1))
    last = data.draw(st.integers(first, min(first + 6, len(lines))))
    piece = lines[first:last]
    torn = data.draw(
        st.sampled_from(
            [[], piece * 2, [line[: len(line) // 2] + "\n" for line in piece], [line[1:] for line in piece]]
        )
    )
    (bench / "torn.yaml").write_text("".join(lines[:first] + torn + lines[last:]), "utf-8")
    ends_well("settings", bench / "torn.yaml")
