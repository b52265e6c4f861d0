"""What programs send and get. Every number has its unit beside it; times are ISO with their offset."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

Name = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,39}$", examples=["K7M-4H7"])]
StepName = Annotated[str, Field(max_length=20, pattern=r"^[A-Za-z0-9.-]*$", examples=["GA-32"])]
Words = Annotated[str, Field(max_length=20_000)]
Short = Annotated[str, Field(max_length=200)]
Id = Annotated[
    str,
    Field(
        pattern=r"^[0-9a-fA-F]{8}-[0-9a-fA-F]{4}-[0-9a-fA-F]{4}-[0-9a-fA-F]{4}-[0-9a-fA-F]{12}$",
        examples=["5e1b9f0c-8f53-4ce1-9d6e-0c1a3b7f2d44"],
    ),
]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]

Kind = Literal[
    "start", "set", "seen", "measured", "finish", "note", "skip", "repeat", "timer", "place", "photo"
]
"""What a program may write; decisions at hold points and new flows are a person's."""


class Out(BaseModel):
    """An answer: exactly the fields that are described."""

    model_config = ConfigDict(extra="forbid", from_attributes=True)


class ProblemOut(Out):
    """One thing that is wrong: what it is, what must be there, what came, why it matters, what to do."""

    what: str
    expected: str
    got: str
    why: str
    remedy: str
    file: str = ""
    line: int | None = None
    column: int | None = None


class Trouble(Out):
    """A request that was not met; the same shape as on the pages."""

    status: int
    said: str
    problems: list[ProblemOut] = []
    number: str = ""


class LotOut(Out):
    """A lot as it was started."""

    name: str
    title: str = Field(description="Of its flow; empty where its plan cannot be read.")
    wafers: list[str]
    started: str
    flow_digest: str
    entries: int = Field(description="How many entries there are; the position of the last one.")
    invented: bool
    note: str


class StepOut(Out):
    """A step of the newest version of the flow."""

    number: str
    code: str
    title: str


class CellOut(Out):
    """One wafer at one step."""

    wafer: str
    step: str
    state: str
    started: str
    finished: str
    who: str
    why: str


class PieceOut(Out):
    """Where a wafer or a piece of one is, and what is next for it."""

    name: str
    parent: str
    standing: str
    location: str
    carrier: str
    next: str
    running: str


class ProgressOut(Out):
    """How far the wafers of a lot have come."""

    lot: str
    position: int
    steps: list[StepOut]
    wafers: list[PieceOut]
    cells: list[CellOut]


class EntryOut(Out):
    """One entry of the log; nothing is ever changed in it, a correction is a later entry about it."""

    position: int
    id: str
    wafer: str
    step: str
    kind: str
    name: str
    value: float | None = Field(description="In SI units.")
    unit: str = Field(description="The unit in which the person wrote it.")
    text: str
    happened: str
    written: str
    who: str
    about: str
    sha256: str
    invented: bool


class EntryIn(BaseModel):
    """One thing to write down."""

    model_config = ConfigDict(extra="forbid")

    kind: Kind
    name: Short = ""
    value: Annotated[float | None, Field(allow_inf_nan=False)] = None
    unit: Annotated[str, Field(max_length=40)] = ""
    text: Words = ""
    sha256: Sha256 | Literal[""] = Field(default="", description="Of a photo that was kept before.")


class TapIn(BaseModel):
    """Entries about one step, kept all or none. Sent twice under one id they are kept once."""

    model_config = ConfigDict(extra="forbid")

    id: Id = Field(description="A random UUID; a retry sends the same.")
    step: StepName = Field(default="", description="Number or code; empty: the lot as a whole.")
    wafers: Annotated[list[Name], Field(max_length=25)] = []
    entries: Annotated[list[EntryIn], Field(min_length=1, max_length=100)]
    seen: Annotated[int | None, Field(ge=0, le=2**53)] = Field(
        default=None,
        description="Position of the newest entry of this step that you knew; a newer one is a conflict. None does not ask.",
    )
    happened: Annotated[str, Field(max_length=40)] = Field(
        default="", description="ISO time with offset; empty: now."
    )
    who: Annotated[str, Field(max_length=60)] = Field(
        default="", description="Alone on one machine: whose entry it is. With a token it is always the owner of the token."
    )  # fmt: skip
    sure: bool = Field(default=False, description="Keep a number although it is out of its band.")


class NewerOut(Out):
    """What somebody else wrote about the step in the meantime."""

    who: str
    what: str
    happened: str
    wafer: str


class TapOut(Out):
    """What became of what was sent."""

    state: Literal["kept", "already there", "question", "conflict", "refused", "later", "another's"]
    id: str
    said: str
    position: int
    events: list[str]
    newer: list[NewerOut] = []
    checks: list[dict[str, Any]] = []


class FileOut(Out):
    """A kept file: its name, its digest, whose it is."""

    name: str
    sha256: str
    wafer: str
    device: str
    kept: str
    who: str
    invented: bool


class PhotoOut(Out):
    """A kept photo."""

    sha256: str


class MeasurementOut(FileOut):
    """A kept table with what was extracted from it."""

    parameters: dict[str, Any]
