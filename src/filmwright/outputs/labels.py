"""Labels for boxes, carriers and beakers: what they hold, and how they are printed."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Literal, get_args

from filmwright.errors import BadInput, Problem, nearest
from filmwright.outputs.sheet import qr_svg, template

LabelKind = Literal["box", "carrier", "beaker"]
LABEL_KINDS: tuple[str, ...] = get_args(LabelKind)


@dataclass(frozen=True, kw_only=True)
class Label:
    """One label; every text is printed as it is.

    Attributes
    ----------
    kind : LabelKind
    head : str
        What must be read from afar: a lot, a wafer, what is in a beaker.
    title : str
    lines : tuple of str
    cautions : tuple of str
        Of what is in a beaker.
    blanks : tuple of str
        What is written by hand.
    code : str
        What the QR code says; empty for none.
    invented : bool
    """

    kind: LabelKind
    head: str
    title: str = ""
    lines: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    blanks: tuple[str, ...] = ()
    code: str = ""
    invented: bool = False

    def __post_init__(self) -> None:
        if self.kind not in LABEL_KINDS:
            raise BadInput(
                Problem(
                    what="the kind of a label",
                    expected="one of " + ", ".join(LABEL_KINDS),
                    got=f'"{self.kind}"',
                    why="each kind has its own size and its own words",
                    remedy=nearest(self.kind, LABEL_KINDS),
                )
            )


def labels_pdf(labels: Sequence[Label]) -> bytes:
    """Labels as PDF on A4, one frame each to cut out, boxes first; the same labels give the same bytes.

    Parameters
    ----------
    labels : sequence of Label

    Raises
    ------
    BadInput
        When there is none.
    """
    if not labels:
        raise BadInput(
            Problem(
                what="the labels to print",
                expected="at least one",
                got="none",
                why="an empty page is no label",
                remedy="ask for box, carrier or beaker labels of a lot that has such things",
            )
        )
    import typst

    data = [asdict(each) | {"qr": qr_svg(each.code) if each.code else ""} for each in labels]
    found = typst.compile(
        template("labels.typ").encode(),
        font_paths=typst.Fonts(include_system_fonts=False),
        sys_inputs={"labels": json.dumps(data, ensure_ascii=False)},
        timestamp=0,
    )
    if not isinstance(found, bytes):
        raise TypeError("the page setter gave several files for one PDF")
    return found
