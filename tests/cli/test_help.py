"""The help of each verb shows an example that the command line itself would take."""

import shlex
import subprocess
import sys

import pytest
import typer

from filmwright import __version__, desk, web
from filmwright.cli.app import app

ROOT = typer.main.get_command(app)


def leaves(commands, before=""):
    """Every verb, those of a group under its own word, with its command."""
    for name, command in commands.items():
        within = getattr(command, "commands", None)
        if within is None:
            yield f"{before}{name}", command
        else:
            yield from leaves(within, f"{before}{name} ")


COMMANDS = dict(leaves(ROOT.commands))
VERBS = sorted(COMMANDS)
WANTED = (
    "new review settings why day devices predict look draw sheet run log extract statistics fit thickness compare next report demo "
    "lab labels lengths sheet-resistance capacitance step-height serve people record grid today tools"
)


@pytest.mark.whole
def test_the_verbs_are_those_of_the_job_and_each_has_its_use_case():
    assert set(ROOT.commands) == set(WANTED.split())
    people = {f"people {each}" for each in ("list", "add", "link", "role", "close", "open")}
    record = {f"record {each}" for each in ("verify", "backup", "restore", "copy", "export", "import")}
    assert set(VERBS) - set(WANTED.split()) == {"lab check"} | people | record
    cases = {"lab check": "check_lab", "sheet-resistance": "sheet_resistance", "step-height": "step_height"}
    cases |= {each: each.replace(" ", "_") for each in people | record}
    cases |= {f"people {each}": "people_change" for each in ("role", "close", "open")}
    homes = {"serve": web}
    assert all(callable(getattr(homes.get(verb, desk), cases.get(verb, verb))) for verb in VERBS)


@pytest.mark.whole
@pytest.mark.parametrize("verb", VERBS)
def test_help_says_what_the_verb_does_and_shows_an_example_that_parses(filmwright, verb: str):
    words = verb.split()
    said = filmwright(*words, "--help")
    assert said.code == 0
    assert "--json" in said.out
    command = COMMANDS[verb]
    label, _, example = command.epilog.partition(":")
    assert label == "Example"
    assert example.split()[: 1 + len(words)] == ["filmwright", *words]
    assert example.split()[0] in said.out
    # Parsing alone: an option that does not exist, or a value of the wrong kind, would be a usage error.
    command.make_context(verb, shlex.split(example)[1 + len(words) :]).close()


@pytest.mark.whole
@pytest.mark.parametrize("verb", VERBS)
def test_every_word_of_a_verb_is_explained(verb: str):
    for parameter in COMMANDS[verb].params:
        assert getattr(parameter, "help", None), f"{verb} {parameter.name}"


@pytest.mark.whole
def test_the_command_answers_as_a_process_of_its_own():
    code = "from filmwright.cli import main; main()"
    helped = subprocess.run(
        [sys.executable, "-c", code, "--help"], capture_output=True, text=True, check=False
    )
    assert helped.returncode == 0
    assert all(verb in helped.stdout for verb in ROOT.commands)
    assert helped.stderr == ""


@pytest.mark.whole
def test_help_loads_no_heavy_library():
    code = (
        "import sys; sys.argv[1:] = ['--help']\n"
        "from filmwright.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'scipy', 'shapely', 'matplotlib', 'sqlalchemy', 'gdstk', 'pint'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.whole
def test_the_version_is_that_of_the_package(filmwright):
    said = filmwright("--version")
    assert said.code == 0
    assert said.out.split() == ["filmwright", __version__]


@pytest.mark.whole
@pytest.mark.parametrize(
    "words",
    [("foo",), ("log",), ("review", "plan.yaml", "--colour", "red"), ("sheet", "p.yaml", "--wafers", "0")],
)
def test_words_that_are_no_command_end_with_2(filmwright, words):
    said = filmwright(*words)
    assert said.code == 2
    assert "Traceback" not in said.err
