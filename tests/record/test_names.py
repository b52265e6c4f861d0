"""Lot names: distinct, hard to misread, and one slip is always noticed."""

import pytest

from filmwright.errors import BadInput
from filmwright.record import is_lot_name, lot_name, read_lot_name
from filmwright.record.names import ALPHABET, NAMES, check_character

NUMBERS = range(0, NAMES, NAMES // 40)


@pytest.mark.analytic
def test_the_alphabet_has_a_prime_number_of_characters_and_no_look_alikes():
    assert len(set(ALPHABET)) == len(ALPHABET) == 19
    for look_alikes in ("0OQD", "1IL", "2Z", "5S", "6G", "8B", "UV"):
        assert not set(look_alikes) & set(ALPHABET)


@pytest.mark.property
def test_every_number_has_a_name_of_its_own():
    names = {lot_name(number) for number in range(20_000)}
    assert len(names) == 20_000
    assert lot_name(NAMES) == lot_name(0)
    stride = 1_530_313
    assert stride % 19 != 0, "a stride without the factor 19 visits every one of the 19^5 names"


@pytest.mark.property
@pytest.mark.parametrize("number", NUMBERS)
def test_every_single_substitution_is_noticed(number):
    name = lot_name(number).replace("-", "")
    assert is_lot_name(name)
    for place in range(len(name)):
        for letter in ALPHABET:
            if letter != name[place]:
                assert not is_lot_name(name[:place] + letter + name[place + 1 :])


@pytest.mark.property
@pytest.mark.parametrize("number", NUMBERS)
def test_every_swap_of_two_places_is_noticed(number):
    name = lot_name(number).replace("-", "")
    for one in range(len(name)):
        for two in range(one + 1, len(name)):
            if name[one] != name[two]:
                swapped = list(name)
                swapped[one], swapped[two] = swapped[two], swapped[one]
                assert not is_lot_name("".join(swapped))


@pytest.mark.analytic
def test_check_character_by_hand():
    # K7M4H has the numbers 6 17 7 16 4: 1*6 + 2*17 + 3*7 + 4*16 + 5*4 = 145 = 12 (mod 19), and the sixth
    # number x must make 12 + 6*x a multiple of 19: x = 17 (12 + 102 = 114 = 6*19), which is the 7.
    assert [ALPHABET.index(letter) for letter in "K7M4H"] == [6, 17, 7, 16, 4]
    assert check_character("K7M4H") == ALPHABET[17] == "7"


@pytest.mark.analytic
def test_a_name_is_read_as_people_type_it():
    name = lot_name(12)
    assert read_lot_name(f" {name.lower().replace('-', ' ')} ") == name
    assert lot_name() != lot_name()


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("typed", "why"), [("K0M-4H7", "0 is never used"), ("K7M-H47", "check character"), ("", "check")]
)
def test_a_wrong_name_is_refused_with_the_reason(typed, why):
    with pytest.raises(BadInput, match=why):
        read_lot_name(typed)
