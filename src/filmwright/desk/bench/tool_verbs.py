"""The verb tools: what stands in the logbooks, and a line into them from the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from filmwright.desk.bench import tool_entries as entries
from filmwright.desk.bench.house import Bench
from filmwright.desk.bench.tools import ToolsAnswer, tool
from filmwright.desk.bench.tools import tools as all_tools
from filmwright.errors import BadInput, Problem


def tools(
    name: str = "",
    *,
    words: Mapping[str, str] | None = None,
    who: str = "",
    sure: bool = False,
    lab: Path | None = None,
    record: Path | None = None,
    on: str = "",
) -> ToolsAnswer:
    """All tools or one of them; with words a line is written into its logbook first.

    Parameters
    ----------
    name : str
        Of a tool; empty for all.
    words : mapping from what to words
        ``check``: ``base pressure = 4e-5 Pa``; ``state``: ``down: no exhaust``; ``bath``: ``tank 1: fresh``;
        ``qualify`` and ``calibrate``: ``deposition rate = 0.1 nm/s +- 3 %``, with ``of`` its material, ``in`` its bath, ``recipe``;
        ``maintain``: what was done; ``recipe version``: ``NAME: power 80 W, was 75 W``.
    who : str
    sure : bool
        Keep a line although it looks odd.
    lab : Path or None
        Lab file; None takes the one with which the newest lot was started.
    record : Path or None
    on : str
        ISO date; empty for today.
    """
    given = {key: text for key, text in (words or {}).items() if text}
    acts = [key for key in given if key not in ("of", "in", "recipe")]
    with Bench.open(record, lab=lab, create=bool(acts)) as bench:
        by = entries.Line(who=who, sure=sure)
        said = tuple(_written(bench, name, act, given, by) for act in acts)
        answer = ToolsAnswer(tools=(tool(bench, name, on),), on="") if name else all_tools(bench, on)
        return replace(answer, on=answer.tools[0].on if answer.tools else answer.on, said=said)


def _written(bench: Bench, name: str, act: str, words: Mapping[str, str], by: entries.Line) -> str:
    """One line, in words; one that looks odd is refused with what to do."""
    text = words[act]
    if act == "bath":
        bath, _, action = text.rpartition(":")
        done, _, wafers = (
            action.strip().partition(" ") if action.strip().startswith("used") else (action.strip(), "", "")
        )
        written = entries.bath_action(bench, bath.strip(), done, by, wafers=wafers.strip())
    elif not name:
        raise BadInput(
            Problem(what="the tool", expected="its name", got="nothing", why="a line belongs to the logbook of one tool",
                    remedy='write it first: filmwright tools "evaporator" --state "up"')
        )  # fmt: skip
    elif act == "state":
        state, _, why = text.partition(":")
        written = entries.set_state(bench, name, state.strip(), why.strip(), by)
    elif act == "check":
        what, value = _pair(text, "base pressure = 4e-5 Pa")
        written = entries.add_check(bench, name, what, value, by, recipe=words.get("recipe", ""))
    elif act == "recipe version":
        recipe, _, told = text.partition(":")
        written = entries.add_recipe(bench, name, recipe, told, by)
    elif act == "maintain":
        written = entries.add_maintenance(bench, name, text, by)
    else:
        what, value = _pair(text, "deposition rate = 0.1 nm/s +- 3 %")
        written = entries.add_reading(
            bench, name, what, value, by, material=words.get("of", ""), medium=words.get("in", ""),
            recipe=words.get("recipe", ""), monthly=act == "qualify",
        )  # fmt: skip
    if not written.kept:
        raise BadInput(
            Problem(what="what was entered", expected="like the readings before it", got=written.said,
                    why="the record is never changed afterwards", remedy="correct it, or add --sure to keep it as entered")
        )  # fmt: skip
    return f"Kept: {written.said}"


def _pair(text: str, example: str) -> tuple[str, str]:
    name, equals, value = text.partition("=")
    if not equals or not value.strip():
        raise BadInput(
            Problem(what="what was read", expected="a name, =, and a number with its unit", got=f'"{text}"',
                    why="a number without a name is lost", remedy=f'write it like "{example}"')
        )  # fmt: skip
    return name.strip(), value.strip()
