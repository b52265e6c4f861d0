"""The calendar file against the rules and the examples of RFC 5545 (published standard, doi 10.17487/RFC5545)."""

import datetime
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.outputs import Event, calendar_text

MADE = datetime.datetime(2026, 11, 26, 9, 0, tzinfo=datetime.timezone(datetime.timedelta(hours=1)))
BEGIN = datetime.datetime(2026, 11, 26, 9, 30)


def event(**more):
    basis = {
        "key": "1.1",
        "begin": BEGIN,
        "end": BEGIN + datetime.timedelta(minutes=90),
        "title": "01A Clean",
    }
    return Event(**(basis | more))


def written(*events):
    return calendar_text(events, MADE, "here.filmwright")


def unfolded(text):
    """RFC 5545 3.1: a line break followed by one white space is taken out."""
    return re.sub(r"\r\n[ \t]", "", text).removesuffix("\r\n").split("\r\n")


def understood(value):
    """RFC 5545 3.3.11, read backwards."""
    return re.sub(r"\\([\\;,nN])", lambda m: "\n" if m[1] in "nN" else m[1], value)


def value_of(text, name):
    return next(line.partition(":")[2] for line in unfolded(text) if line.startswith(f"{name}:"))


@pytest.mark.literature
def test_the_example_of_escaping_in_the_standard():
    # RFC 5545 3.3.11: "Project XYZ Final Review", "Conference Room - 3B", "Come Prepared." on three lines
    plain = "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    given_there = r"Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
    assert value_of(written(event(text=plain)), "DESCRIPTION") == given_there


@pytest.mark.literature
def test_what_an_entry_must_hold():
    # RFC 5545 3.4, 3.6: VERSION and PRODID once; 3.6.1: UID and DTSTAMP; 3.3.5: form 1 local, form 2 in UTC
    text = written(event(place="solvent bench"), event(key="2.1"))
    lines = unfolded(text)
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-1] == "END:VCALENDAR"
    assert lines.count("VERSION:2.0") == 1
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 2
    assert value_of(text, "DTSTAMP") == "20261126T080000Z"
    assert value_of(text, "DTSTART") == "20261126T093000"
    assert value_of(text, "DTEND") == "20261126T110000"
    keys = [line for line in lines if line.startswith("UID:")]
    assert len(set(keys)) == 2
    # 3.1: contentline = name *(";" param ) ":" value
    assert all(re.fullmatch(r"[A-Z-]+:[^\x00-\x08\x0a-\x1f\x7f]*", line) for line in lines)


@pytest.mark.literature
def test_an_entry_that_takes_no_time_has_no_end():
    # RFC 5545 3.8.2.2: the end must be later than the start; without one it is a moment (3.6.1)
    assert "DTEND" not in written(event(end=BEGIN))


@pytest.mark.literature
def test_the_forms_of_a_time():
    # RFC 5545 3.3.5: 19980118T230000 is local (form 1), 19980119T070000Z is UTC (form 2)
    zone = datetime.timezone(datetime.timedelta(hours=-8))
    at = datetime.datetime(1998, 1, 18, 23, 0)
    entry = event(begin=at, end=at + datetime.timedelta(hours=1))
    assert value_of(calendar_text([entry], MADE, "here"), "DTSTART") == "19980118T230000"
    assert value_of(calendar_text([entry], MADE, "here", zone), "DTSTART") == "19980119T070000Z"


@pytest.mark.literature
def test_every_line_follows_the_grammar_of_the_standard():
    # RFC 5545 3.1: contentline = name *(";" param) ":" value CRLF; name = iana-token; 3.3.5 date-time; 3.6.1 eventc
    zone = datetime.timezone(datetime.timedelta(hours=9))
    for given_zone in (None, zone):
        text = calendar_text([event(text="a\nb, c; d", place="bench")], MADE, "here.filmwright", given_zone)
        assert text.endswith("\r\n")
        for line in unfolded(text):
            assert re.fullmatch(r"[A-Za-z0-9-]+(;[A-Za-z0-9-]+=[^:;,\"]+)*:[^\x00-\x08\x0a-\x1f\x7f]*", line)
        lines = unfolded(text)
        inside = lines[lines.index("BEGIN:VEVENT") + 1 : lines.index("END:VEVENT")]
        names = [line.partition(":")[0] for line in inside]
        assert {"UID", "DTSTAMP", "DTSTART"} <= set(names)
        assert len(names) == len(set(names))
        for name in ("DTSTAMP", "DTSTART", "DTEND"):
            assert re.fullmatch(r"\d{8}T([01]\d|2[0-3])[0-5]\d[0-5]\dZ?", value_of(text, name))


@pytest.mark.property
@given(st.text(max_size=300), st.text(max_size=80))
def test_any_text_comes_back_from_lines_of_at_most_75_octets(text, title):
    found = written(event(text=text, title=title))
    for line in found.split("\r\n"):
        assert len(line.encode("utf-8", "surrogatepass")) <= 75
    assert "\n" not in found.replace("\r\n", "")

    def kept(sign):
        return sign in "\t\n" or (ord(sign) >= 0x20 and ord(sign) != 0x7F)

    clean = "".join(filter(kept, text.replace("\r\n", "\n").replace("\r", "\n")))
    if clean:
        assert understood(value_of(found, "DESCRIPTION")) == clean


@pytest.mark.analytic
def test_wrong_times_are_refused():
    with pytest.raises(ValueError, match="ends before"):
        event(end=BEGIN - datetime.timedelta(minutes=1))
    with pytest.raises(ValueError, match="zone"):
        calendar_text([event()], BEGIN, "here")
