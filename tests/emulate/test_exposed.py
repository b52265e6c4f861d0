"""What follows from an exposure and a development of a real plan."""

import pytest

from filmwright.emulate.exposed import alignments_between


@pytest.mark.analytic
def test_alignments_between_levels_of_a_tree():
    # gate ← channel, gate ← contact, contact ← cover
    parents = {"gate": "", "channel": "gate", "contact": "gate", "cover": "contact"}
    assert alignments_between(parents, "gate", "channel") == 1
    assert alignments_between(parents, "channel", "contact") == 2
    assert alignments_between(parents, "cover", "channel") == 3
    assert alignments_between(parents, "cover", "contact") == 1
