"""A lot without lab file, masks or drawing, with twelve wafers of sixty steps and a piece of a piece, is shown on every page."""

import uuid

import pytest
from starlette.testclient import TestClient

from filmwright.desk.bench import Bench
from filmwright.record import Event, Lot, digest
from filmwright.web import Settings, application

from .conftest import HERE

LOT, AT = "K7M-4H7", "2026-01-05T09:00:00+01:00"
PLAN = (
    "flow: Many\ninvented: yes\nwafer: {body: silicon, diameter: 100 mm}\nsteps:\n"
    + "  - clean: solvent clean\n" * 60
)
PAGES = ("", "?open=all", "/resume", "/step/60A?wafer=W12", "/step/02A?wafer=W1.a.b", "/wafer/W1.a.b", "/flow", "/measurements",
         "/paper", "/offline")  # fmt: skip


def entry(kind, **more):
    return Event(
        id=str(uuid.uuid4()), lot=LOT, kind=kind, happened=AT, written=AT, who="AB", invented=True, **more
    )


@pytest.mark.whole
def test_twelve_wafers_of_sixty_steps_and_a_piece_of_a_piece_are_shown(tmp_path):
    with (
        Bench.open(tmp_path / "record.sqlite", create=True) as bench,
        TestClient(application(bench, Settings()), base_url=HERE) as client,
    ):
        for path in ("/", "/lots", "/tools", "/plans", "/lots/new"):
            assert client.get(path).status_code == 200, path
        bench.store.start_lot(
            Lot(name=LOT, flow_text=PLAN, flow_digest=digest(PLAN), knowledge_version="1", code_version="1",
                wafers=tuple(f"W{k}" for k in range(1, 13)), started="2026-01-05T08:00:00+01:00", invented=True)
        )  # fmt: skip
        bench.store.append(
            [
                entry("finish", step="1.1"),
                entry("cleave", wafer="W1", name="W1.a", text="half"),
                entry("cleave", wafer="W1.a", name="W1.a.b", text="quarter"),
                entry("start", step="2.1", wafer="W1.a.b"),
            ]
        )
        for path in PAGES:
            assert client.get(f"/lot/{LOT}{path}").status_code == 200, path
        parents = {each.name: each.parent for each in bench.progress(LOT).pieces}
        assert (parents["W1.a.b"], parents["W1.a"]) == ("W1.a", "W1")
        assert bench.progress(LOT).cell("W1.a.b", "1.1").state == "done"
