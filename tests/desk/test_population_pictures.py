"""Figures of many devices: every device, wafers apart, and the page and print that hold them."""

import numpy as np
import pytest

from filmwright import desk

GATE = np.linspace(-2, 6, 41)


@pytest.fixture(scope="module")
def lot(tmp_path_factory):
    """Two splits of two wafers with four devices each, the second half a volt higher, on a small map."""
    place = tmp_path_factory.mktemp("lot")
    draw = np.random.default_rng(3)
    rows = ["file,device,wafer,x [mm],y [mm],split"]
    for wafer in range(4):
        for k in range(4):
            over = GATE - (1.0 + 0.5 * (wafer // 2) + draw.normal(0, 0.05))
            amps = 1e-12 + 1e-7 * 0.1 * np.logaddexp(0, over / 0.1) * (1 + 1e-3 * draw.normal(size=GATE.size))
            name = f"N{wafer}-D{k}.csv"
            lines = [f"{g:.2f},0.1,{i:.6e},1e-13" for g, i in zip(GATE, amps, strict=True)]
            (place / name).write_text("VG [V],VD [V],ID [A],IG [A]\n" + "\n".join(lines) + "\n", "utf-8")
            rows.append(
                f"{name},D{k},N{wafer},{10 * (k % 2)},{10 * (k // 2)},{'annealed' if wafer > 1 else 'plain'}"
            )
    (place / "devices.csv").write_text("\n".join(rows) + "\n", "utf-8")
    files = sorted(place.glob("N*.csv"))
    answer = desk.statistics(
        files,
        table=place / "devices.csv",
        parameter=["threshold_voltage"],
        page=place / "page.html",
        figure=place / "all.pdf",
    )
    return answer, place


@pytest.mark.whole
def test_every_working_device_is_drawn_in_the_box_of_its_own_wafer(lot):
    answer, _ = lot
    plot = next(each for each in answer.plots() if each.title == "threshold voltage by split")
    (panel,) = plot.panels
    assert set(panel.x.names) == {"plain · N0", "plain · N1", "annealed · N2", "annealed · N3"}
    drawn = np.sort(np.concatenate([series.y for series in panel.series]))
    known = [each.parameters["threshold_voltage"] for each in answer.outcomes if not each.cause]
    assert drawn == pytest.approx(np.sort(known))
    assert panel.y.text == "threshold voltage [V]"


@pytest.mark.whole
def test_each_wafer_has_its_map_with_every_device(lot):
    answer, _ = lot
    maps = [each for each in answer.plots() if each.panels[0].dots is not None]
    assert [each.title for each in maps] == [f"threshold voltage over wafer N{k}" for k in range(4)]
    assert all(len(each.panels[0].dots.x) == 4 for each in maps)


@pytest.mark.whole
def test_page_and_print_are_written_and_said(lot):
    answer, place = lot
    assert [note for note in answer.notes if note.startswith("Written")] == [
        f"Written: {place / 'page.html'}",
        f"Written: {place / 'all.pdf'}",
    ]
    page = (place / "page.html").read_text("utf-8")
    assert "Yield, by cause" in page
    assert page.count('id="figure-library"') == 1
    assert (place / "all.pdf").read_bytes().startswith(b"%PDF")
