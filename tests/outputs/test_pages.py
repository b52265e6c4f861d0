"""Story, report, index: self-contained, escaped, honest about gaps."""

import re
from html.parser import HTMLParser
from pathlib import Path
from types import SimpleNamespace

import pytest

from filmwright.outputs import (
    AsRunRow,
    CompareContent,
    ComparisonRow,
    Estimate,
    IndexFlow,
    IndexLink,
    Picture,
    ProposalRow,
    ReportContent,
    ReportStep,
    SectionPicture,
    SourceRow,
    Story,
    StorySetting,
    StoryStep,
    Unknown,
    Verdict,
    YieldRow,
    compare_html,
    findings_html,
    findings_text,
    index_html,
    report_html,
    section_svg,
    story_html,
)
from filmwright.units import to_si

VOID = {"meta", "input", "br", "link", "img", "hr"}


class _Balance(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.text, self.tags = [], [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data):
        if not self.open or self.open[-1] not in ("style", "script"):
            self.text.append(data)


def read_page(html):
    """Tags and text of a page; fails where tags are not balanced."""
    parser = _Balance()
    parser.feed(html)
    assert parser.open == []
    return parser.tags, re.sub(r"\s+", " ", " ".join(parser.text))


def assert_self_contained(html):
    """No address, no outside style, script or picture."""
    names = ("http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink")
    for name in names:
        html = html.replace(name, "")
    assert "http:" not in html
    assert "https:" not in html
    assert "@import" not in html
    tags, _ = read_page(html)
    for tag, attrs in tags:
        assert tag not in ("link", "iframe", "object", "embed", "img"), tag
        assert not (tag == "script" and "src" in attrs)


FINDING = SimpleNamespace(
    rule="developer attacks film",
    severity="stop",
    step="3.2",
    line=14,
    what="loss of <b>IGZO</b>",
    expected="at most 5 %",
    got="48 %",
    why="the developer dissolves it",
    remedy="cover it",
    source="common practice",
    also=("keep",),
    follows=(),
    acknowledged="",
    refused="",
)
NOTE = SimpleNamespace(**{**vars(FINDING), "severity": "note", "what": "residual gas"})
EVIL = '<script>alert("1")</script> & #strong[x] $a$ \\ "q"'
TEMPLATES = Path(__file__).parents[2] / "src" / "filmwright" / "outputs" / "templates"


def story(stages, legend, **more):
    svg = section_svg(
        SectionPicture(section=stages["gate"], kinds=legend.kinds, symbols=legend.symbols, title=EVIL)
    )
    steps = [
        StoryStep(
            number=f"{k}.1",
            title=f"Step {k} {EVIL}",
            code=f"GA-{k}7",
            tool=EVIL,
            section=svg,
            findings=(FINDING, NOTE),
            settings=(
                StorySetting(name=EVIL, value="8.3 s", band="± 0.9 s", rests_on="lamp read 3 days ago"),
            ),
            look=("blue",),
            cautions=("Hot.",),
        )
        for k in range(3)
    ]
    return Story(**({"title": EVIL, "steps": steps, "digest": "3fa9c01b22de"} | more))


def report(**more):
    threshold = {"name": "threshold voltage", "unit": "V", "value": 1.35, "low": 1.25, "high": 1.45}
    basis = {
        "lot": "HS-0412",
        "title": EVIL,
        "digest": "3fa9c01b22de",
        "verdict": Verdict(
            made="Two wafers.", worked="38 of 45 work.", sure="Two wafers cannot tell it from the day."
        ),
        "yields": (
            YieldRow(cause="gate leaks", count=3, split="W1"),
            YieldRow(cause="works", count=21, works=True, split="W1"),
            YieldRow(cause="works", count=17, works=True, split="W2"),
            YieldRow(cause="gate leaks", count=4, split="W2"),
        ),
        "medians": (
            Estimate(**threshold, count=38),
            Estimate(name="contact resistance", unit="Ω·cm", valid=False, why_not="one channel length only"),
        ),
        "findings": (FINDING, NOTE),
        "steps": (
            ReportStep(
                number="2.1",
                title="Deposit titanium",
                rows=(
                    AsRunRow(
                        name="thickness",
                        unit="nm",
                        planned=to_si(60, "nm"),
                        planned_std=to_si(1.5, "nm"),
                        as_run=to_si(61, "nm"),
                        measured=to_si(57, "nm"),
                        apart=True,
                    ),
                    AsRunRow(name="wafer temperature", unit="°C", planned=to_si(20, "degC"), planned_std=2.0),
                ),
            ),
        ),
        "parameters": (
            Estimate(**threshold, definition="linear extrapolation", window="2.1 to 3.4 V", group="T-7"),
        ),
        "comparison": (
            ComparisonRow(
                name="threshold voltage",
                planned=Estimate(name="", unit="V", value=1.0),
                as_run=Estimate(name="", unit="V", value=1.1),
                measured=Estimate(**threshold),
                shares=(("thinner dielectric", Estimate(name="", unit="V", value=0.12)),),
                rest=Estimate(name="", unit="V", value=0.23),
            ),
        ),
        "proposals": (
            ProposalRow(what="tooling", now="112 %", proposed="106 %", band="103 to 109 %"),
            ProposalRow(what="dose", now="100 mJ/cm²", proposed="101 mJ/cm²", inside_noise=True),
        ),
        "unknowns": (Unknown(what="permittivity", settled_by="C-V on C3"),),
        "sources": (
            SourceRow(number="etch rate", value="38 nm/min", kind="invented", citation="lab calibration"),
        ),
        "checklist": (("drain voltage", "0.1 V", "the file"), ("temperature", "", "without it: the swing")),
        "methods": ("The devices were made.",),
    }
    return ReportContent(**(basis | more))


@pytest.fixture
def every_page(stages, legend):
    return [
        story_html(story(stages, legend, invented=True)),
        report_html(report(invented=True, curves=(Picture(title=EVIL, svg="<svg></svg>"),))),
        index_html(
            EVIL,
            EVIL,
            [
                IndexFlow(
                    title=EVIL, links=(IndexLink(href="a.html", title=EVIL),), because=EVIL, invented=True
                )
            ],
        ),
        findings_html([FINDING, NOTE], EVIL, invented=True),
        compare_html(CompareContent(title=EVIL, rows=report().comparison, said=(EVIL,), invented=True)),
    ]


@pytest.mark.property
def test_pages_are_balanced_escaped_self_contained_and_say_invented(every_page):
    for page in every_page:
        assert_self_contained(page)
        _, text = read_page(page)
        assert '<script>alert("1")' not in re.sub(
            r"<script>\"use strict\".*?</script>", "", page, flags=re.DOTALL
        )
        assert "alert" in text
        assert "invented" in text
        assert "prefers-color-scheme: dark" in page
        assert 'name="viewport"' in page


@pytest.mark.property
def test_nothing_is_called_invented_that_is_not(stages, legend):
    assert "invented" not in read_page(story_html(story(stages, legend)))[1]
    assert "invented" not in read_page(report_html(report(sources=())))[1]


@pytest.mark.property
def test_the_story_keeps_a_repeated_picture_once_and_has_a_bar_for_gloves(stages, legend):
    page = story_html(story(stages, legend))
    assert page.count("data-film=") == section_svg(
        SectionPicture(section=stages["gate"], kinds=legend.kinds, symbols=legend.symbols, title=EVIL)
    ).count("data-film=")
    assert 'data-step="0 1 2"' in page
    tags, _ = read_page(page)
    ids = {attrs.get("id") for _, attrs in tags}
    assert {"back", "next", "slider", "where"} <= ids
    css = (TEMPLATES / "story.css").read_text()
    assert int(re.search(r"\.bar button \{[^}]*min-height: (\d+)px", css)[1]) >= 56
    assert int(re.search(r"\.bar input \{[^}]*height: (\d+)px", css)[1]) >= 48


@pytest.mark.property
def test_the_first_screen_answers_and_puts_yield_before_medians():
    _, text = read_page(report_html(report()))
    order = [
        "Two wafers.",
        "38 of 45 work.",
        "cannot tell it from the day",
        "Yield, by cause",
        "Medians",
        "Findings",
    ]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert text.index("works") < text.index("gate leaks"), "working devices come first"
    assert "84 %" in text.replace(" ", " ")


@pytest.mark.property
def test_planned_as_run_and_measured_are_three_columns():
    page = report_html(report())
    row = re.search(r"<td>thickness</td>(.*?)</tr>", page, flags=re.DOTALL)[1]
    assert re.findall(r"<td class=\"n\">(.*?)</td>", row)[:3] == ["60 nm ± 3 nm", "61 nm", "57 nm"]
    assert "wafer temperature 20 °C ± 4 °C" in page, "what was planned and not logged stands in one line"
    assert "outside band" in page


@pytest.mark.property
def test_the_report_says_what_it_does_not_know():
    _, text = read_page(report_html(report()))
    for words in (
        "cannot tell",
        "one channel length only",
        "not recorded",
        "C-V on C3",
        "inside the noise",
        "1.25 to 1.45",
    ):
        assert words in text
    assert "unexplained rest" in text
    empty = ReportContent(lot="L", title="t", digest="d", verdict=Verdict(made="m", worked="w", sure="s"))
    _, text = read_page(report_html(empty))
    for words in (
        "No device was probed",
        "Nothing has been logged",
        "No parameter was extracted",
        "No source",
    ):
        assert words in text


@pytest.mark.property
def test_findings_read_the_same_as_text():
    text = findings_text([FINDING, NOTE])
    assert text.startswith("STOP  loss of <b>IGZO</b>  (step 3.2 line 14)")
    for words in ("expected at most 5 %, got 48 %", "remedy   cover it", "1 stop, 0 warns, 1 note"):
        assert words in text


@pytest.mark.property
def test_every_shipped_template_is_package_data():
    assert {path.suffix for path in TEMPLATES.iterdir()} <= {".html", ".css", ".js", ".typ"}
