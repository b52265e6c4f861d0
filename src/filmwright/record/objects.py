"""What is kept: a lot, what happened to it, what a person accepted, and the raw files of its measurements."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

from filmwright.errors import BadInput, Problem, Problems, nearest
from filmwright.record.checks import (
    DIGEST,
    NAME,
    SHA256,
    STEP,
    check_pattern,
    check_reference,
    check_text,
    check_time,
    check_times,
    digest,
    finite,
    is_object,
    is_uuid,
    refuse_part,
)

if TYPE_CHECKING:
    from filmwright.knowledge import Calibration

EventKind = Literal[
    "start", "set", "seen", "measured", "finish", "note", "skip", "repeat", "extra", "rework", "hold",
    "exclude", "include", "split", "place", "cleave", "leave", "enter", "flow", "acknowledge", "withdraw",
    "timer", "photo", "handover",
]  # fmt: skip
EVENT_KINDS: tuple[str, ...] = get_args(EventKind)
NAMED_KINDS = frozenset(
    {"set", "seen", "measured", "exclude", "include", "split", "place", "cleave", "leave", "enter",
     "acknowledge", "timer", "photo", "handover"}
)  # fmt: skip
_VALUED = frozenset({"set", "seen", "measured", "exclude", "include", "split", "note", "place", "timer"})
_REASONED = frozenset({"flow", "acknowledge", "withdraw"})
_WITH_FILE = frozenset({"flow", "photo"})


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Wafers that go through one flow together, with the flow frozen as it was started.

    Attributes
    ----------
    name : str
        Letters, digits, dot, dash, underscore; see ``lot_name`` for names that are hard to misread.
    flow_text, lab_text : str
        The plan and the lab file, word for word.
    flow_digest, lab_digest, drawing_digest : str
        Digests in hexadecimal; ``lab_digest`` and ``drawing_digest`` are empty where there is none.
    knowledge_version, code_version : str
    seed : int
    wafers : tuple of str
    started : str
        ISO time with offset.
    invented : bool
        Whether everything in the lot is an example.
    note : str
    """

    name: str
    flow_text: str
    flow_digest: str
    knowledge_version: str
    code_version: str
    wafers: tuple[str, ...]
    started: str
    lab_text: str = ""
    lab_digest: str = ""
    seed: int = 0
    drawing_digest: str = ""
    invented: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the name of a lot", self.name, NAME, "K7M-4H7")
        for wafer in self.wafers:
            check_pattern(problems, f"the name of a wafer of lot {self.name}", wafer, NAME, "A")
        if not self.wafers or len(set(self.wafers)) < len(self.wafers):
            refuse_part(
                problems, f"the wafers of lot {self.name}", "at least one name, each once",
                ", ".join(self.wafers),
                "what happened is written down per wafer", "give each wafer its own name",
            )  # fmt: skip
        check_pattern(problems, "the digest of the flow", self.flow_digest, DIGEST, digest("")[:16])
        for what in ("lab_digest", "drawing_digest"):
            if getattr(self, what):
                check_pattern(
                    problems, f"the {what.replace('_', ' ')}", getattr(self, what), DIGEST, digest("")[:16]
                )
        for what in ("flow_text", "lab_text", "knowledge_version", "code_version", "note"):
            check_text(problems, f"the {what.replace('_', ' ')} of lot {self.name}", getattr(self, what))
        check_time(problems, f"the start of lot {self.name}", self.started)
        problems.raise_any()
        object.__setattr__(self, "wafers", tuple(self.wafers))


@dataclass(frozen=True, kw_only=True)
class Event:
    """One thing that happened; what was planned is never an event.

    Attributes
    ----------
    id : str
        UUID; the same entry sent twice is kept once.
    lot : str
    wafer : str
        Empty: all wafers of the lot.
    step : str
        Number of the elementary step, e.g. ``3.2``; empty: the lot as a whole.
    kind : EventKind
        ``set`` is what was dialled in, ``seen`` what the tool or the eye showed, ``measured`` what
        an instrument gave; ``exclude`` leaves the device ``name`` out of statistics for the reason in ``text``,
        ``include`` takes that back; ``split`` says which variant a wafer got, as a whole or, with a step, the
        planned value of the setting ``name`` there. ``hold`` is the decision at a hold point, ``name`` being
        ``go``, ``rework`` or ``scrap``. ``place`` says where a wafer is (``name`` is ``location``, ``carrier``
        or ``orientation``). ``cleave`` cuts the piece ``name`` off a wafer; ``leave`` sends a wafer to the lot
        ``name`` and ``enter`` takes one from there. ``flow`` is a new version of the rest of the flow, its
        text kept under ``sha256``. ``acknowledge`` accepts the finding ``name`` for a reason; ``withdraw``
        takes back the entry ``about``. ``timer`` starts a clock of ``value`` seconds; ``photo`` is a picture
        kept under ``sha256``; ``handover`` gives the lot to the person ``name``.
    name : str
        What the value is, e.g. ``time``, ``thickness``, ``end point``.
    value : float [SI] or None
    unit : str
        The unit in which the person wrote it.
    text : str
        Words; the reason of a skip, a repeat, an extra step or a rework.
    happened, written : str
        ISO times with offset: when it happened and when it was written down.
    who : str
    invented : bool
    about : str
        Id of the earlier entry that this one takes back or, with a value, corrects; else empty.
    sha256 : str
        Of a kept file; else empty.
    """

    id: str
    lot: str
    kind: EventKind
    happened: str
    written: str
    wafer: str = ""
    step: str = ""
    name: str = ""
    value: float | None = None
    unit: str = ""
    text: str = ""
    who: str = ""
    invented: bool = False
    about: str = ""
    sha256: str = ""

    def __post_init__(self) -> None:
        problems = Problems()
        place = f"step {self.step}" if self.step else f"lot {self.lot}"
        self._check_identity(problems)
        if self.kind not in EVENT_KINDS:
            refuse_part(
                problems, f"the kind of an entry of {place}", "a kind of entry", self.kind,
                "planned, as run and measured are kept apart by it", nearest(str(self.kind), EVENT_KINDS),
            )  # fmt: skip
        if self.kind in NAMED_KINDS and not self.name:
            refuse_part(
                problems, f'what was "{self.kind}" in {place}', "named", "",
                "a number without a name is lost",
                'name it, such as "time" or "thickness"',
            )  # fmt: skip
        value = finite(problems, f"{self.name or 'the value'} of {place}", self.value)
        if value is None and not self.text and self.kind in _VALUED:
            refuse_part(
                problems, f"an entry of kind {self.kind} of {place}", "a value or words", "",
                "an empty entry says nothing later", "write what was read or seen",
            )  # fmt: skip
        self._check_reference(problems, place)
        check_times(problems, place, self.happened, self.written)
        for what in ("name", "unit", "text", "who"):
            check_text(problems, f"the {what} of an entry of {place}", getattr(self, what))
        problems.raise_any()
        object.__setattr__(self, "value", value)
        object.__setattr__(self, "id", str(uuid.UUID(self.id)))
        if self.about:
            object.__setattr__(self, "about", str(uuid.UUID(self.about)))

    def _check_reference(self, problems: Problems, place: str) -> None:
        if self.kind == "withdraw" and not self.about:
            refuse_part(
                problems, f"what is taken back in {place}", "the id of an entry", "",
                "an undo leaves a trace, so it must name what it undoes", "choose the entry in the log",
            )  # fmt: skip
        if self.kind in _REASONED and not self.text:
            refuse_part(
                problems, f"the reason of an entry of kind {self.kind} of {place}", "words", "",
                "somebody else will ask why", "write one sentence",
            )  # fmt: skip
        check_reference(problems, place, self.about, self.sha256, file=self.kind in _WITH_FILE)

    def _check_identity(self, problems: Problems) -> None:
        if not is_uuid(self.id):
            refuse_part(
                problems, "the id of an entry", "a UUID", self.id,
                "an entry sent twice is kept once by its id",
                "draw a random UUID for each entry",
            )  # fmt: skip
        check_pattern(problems, "the lot of an entry", self.lot, NAME, "K7M-4H7")
        if self.wafer:
            check_pattern(problems, "the wafer of an entry", self.wafer, NAME, "A")
        if self.step:
            check_pattern(problems, "the step of an entry", self.step, STEP, "3.2")


@dataclass(frozen=True, kw_only=True)
class AcceptedCalibration:
    """A calibration that a person accepted from what was proposed after a lot.

    Attributes
    ----------
    calibration : Calibration
    lot : str
        The lot whose measurements it rests on.
    who : str
    when : str
        ISO time with offset.
    """

    calibration: Calibration
    lot: str
    who: str
    when: str

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the lot of an accepted calibration", self.lot, NAME, "K7M-4H7")
        check_time(problems, "the time of acceptance", self.when)
        check_text(problems, "the name of who accepted", self.who)
        if not self.who:
            refuse_part(
                problems, "who accepted a calibration", "named", "", "a person accepts, never the program",
                "give your name or initials",
            )  # fmt: skip
        for what in ("value", "std", "setting"):
            finite(problems, f"the {what} of an accepted calibration", getattr(self.calibration, what))
        problems.raise_any()


@dataclass(frozen=True, kw_only=True)
class MeasurementFile:
    """A raw instrument file, which device it belongs to and what was extracted from it.

    Attributes
    ----------
    lot, wafer, device : str
        ``wafer`` and ``device`` are empty where they are not known yet.
    name : str
        File name as the instrument wrote it, without folders.
    sha256 : str
        Of the raw bytes.
    kept : str
        ISO time with offset.
    width, length : float or None [m]
        Of the channel.
    parameters : str
        JSON object with the parameters and how they were found.
    who : str
    invented : bool
    """

    lot: str
    name: str
    sha256: str
    kept: str
    wafer: str = ""
    device: str = ""
    width: float | None = None
    length: float | None = None
    parameters: str = "{}"
    who: str = ""
    invented: bool = False

    def __post_init__(self) -> None:
        problems = Problems()
        check_pattern(problems, "the lot of a file", self.lot, NAME, "K7M-4H7")
        check_pattern(problems, f"the SHA-256 of {self.name}", self.sha256, SHA256, digest(""))
        if not self.name or "/" in self.name or "\\" in self.name:
            refuse_part(
                problems, "the name of a file", "without folders", self.name,
                "the record is read on other machines",
                "give the last part of the path",
            )  # fmt: skip
        for what in ("name", "wafer", "device", "who"):
            check_text(problems, f"the {what} of a file", getattr(self, what))
        if not is_object(self.parameters):
            refuse_part(
                problems, f"the parameters of {self.name}", "a JSON object", self.parameters[:60],
                "they are read again for the report", 'write them like {"threshold_voltage": …}',
            )  # fmt: skip
        check_time(problems, f"the time at which {self.name} was kept", self.kept)
        sizes = {what: finite(problems, f"the {what} of {self.device or self.name}", getattr(self, what))
                 for what in ("width", "length")}  # fmt: skip
        problems.raise_any()
        for what, size in sizes.items():
            object.__setattr__(self, what, size)


@dataclass(frozen=True, kw_only=True)
class ChainCheck:
    """Whether the entries of a lot are those that were written, in their order.

    Attributes
    ----------
    lot : str
    entries : int
        How many there are.
    head : str
        Digest of the last entry (of the lot when there is none); printed on sheets and reports so that
        a cut-off end shows.
    sound : bool
    first_bad : int or None
        Position, counted from 1, of the first entry that does not fit; 0 is the lot itself.
    why : str
        Empty when sound.
    """

    lot: str
    entries: int
    head: str
    sound: bool
    first_bad: int | None = None
    why: str = ""


def wrong_reference(what: str, got: str, known: tuple[str, ...]) -> BadInput:
    """The refusal of a lot or wafer that is not in the record."""
    remedy = nearest(got, known) if known else "start the lot first"
    return BadInput(
        Problem(what=what, expected="one that is in the record", got=f'"{got}"',
                why="entries belong to a lot that was started", remedy=remedy)
    )  # fmt: skip
