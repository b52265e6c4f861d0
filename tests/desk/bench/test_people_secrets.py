"""Passwords, PINs and tokens: how they are kept and which are refused."""

import hashlib

import pytest
from argon2 import extract_parameters
from argon2.low_level import Type
from argon2.profiles import RFC_9106_LOW_MEMORY
from hypothesis import given, settings
from hypothesis import strategies as st

from filmwright.desk.bench import passwords, tokens
from filmwright.desk.bench.passwords import (
    check_password,
    check_pin,
    fits,
    hidden,
    out_of_date,
    password_words,
)
from filmwright.errors import BadInput

GOOD = "tulip harbour seven crayon"


@pytest.fixture(scope="module")
def kept():
    return hidden(GOOD)


@pytest.mark.literature
def test_passwords_are_kept_by_the_second_recommended_option_of_rfc_9106(kept):
    # RFC 9106, section 4: Argon2id, t = 3, p = 4, m = 2^16 KiB, 128 bit of salt, 256 bit of tag.
    found = extract_parameters(kept)
    assert found == RFC_9106_LOW_MEMORY
    assert (found.type, found.time_cost, found.parallelism, found.memory_cost) == (Type.ID, 3, 4, 2**16)
    assert (8 * found.salt_len, 8 * found.hash_len) == (128, 256)


@pytest.mark.analytic
def test_the_right_password_fits_and_nothing_else_does(kept):
    assert fits(GOOD, kept)
    assert not fits(GOOD + " ", kept)
    assert not fits("", kept)
    assert not fits(GOOD, "")
    assert not fits("", "")
    assert not fits(GOOD, "not a hash")
    assert not fits("x" * 100_000, kept)
    assert hidden(GOOD) != kept, "each has a salt of its own"


@pytest.mark.literature
def test_the_same_letters_fit_from_every_keyboard():
    # Unicode NFKC, as NIST SP 800-63B 5.1.1.2: e with acute as one character or as two.
    assert fits("caf\u00e9 tulip harbour", hidden("cafe\u0301 tulip harbour"))


@pytest.mark.analytic
def test_a_hash_of_other_parameters_is_renewed(kept):
    from argon2 import PasswordHasher

    assert not out_of_date(kept)
    older = PasswordHasher(time_cost=2, memory_cost=19456, parallelism=1).hash(GOOD)
    assert fits(GOOD, older)
    assert out_of_date(older)
    assert not out_of_date("")


@pytest.mark.literature
@pytest.mark.parametrize("length", [0, 1, 11, 129, 400])
def test_length_is_the_only_rule_of_form(length):
    with pytest.raises(BadInput) as refused:
        check_password("bqxmwzkrtpvh"[: length % 13] if length < 12 else "tulip harbour seven crayon " * 20)
    assert "12 to 128 characters" in str(refused.value)


@pytest.mark.literature
def test_blanks_in_a_row_count_once():
    with pytest.raises(BadInput, match="got 7"):
        check_password("xqz" + " " * 20 + "kvw")


@pytest.mark.literature
@pytest.mark.parametrize(
    "password",
    ["tulip harbour seven", "grün blau orange lila", "9481 6620 7715 03", "木星火星土星金星水星海王星冥王星地球", "x7#Kq!pZ2&vLr9"],
)  # fmt: skip
def test_no_kinds_of_characters_are_asked_for(password):
    # NIST SP 800-63B 5.1.1.2: no composition rules; any Unicode character and blanks are allowed.
    check_password(password)


@pytest.mark.analytic
@pytest.mark.parametrize(
    "password",
    [
        "passwordpassword", "Password2031!", "P@ssw0rd P@ssw0rd", "aaaaaaaaaaaaaaaa", "abcabcabcabcabc", "qwertyuiop123",
        "123456789012345", "cleanroom2031", "filmwright2031", "administrator1", "Mara.Lindqvist1", "lindqvist2031mara",
        "north-bay-lab-1", "abcdefghijklm", "asdfghjklzxcvbnm",
    ],
)  # fmt: skip
def test_names_common_words_and_runs_are_refused_and_never_repeated(password):
    with pytest.raises(BadInput) as refused:
        check_password(password, about=("Mara Lindqvist", "North Bay Lab"))
    assert password not in str(refused.value)
    assert all(password not in str(each.fields()) for each in refused.value.problems)


@pytest.mark.property
@settings(max_examples=200)
@given(st.text(max_size=160))
def test_any_text_is_taken_or_refused_with_words(password):
    try:
        check_password(password)
    except BadInput as refused:
        assert refused.problems[0].remedy
    else:
        assert len(password) * 18 >= 12


@pytest.mark.analytic
@pytest.mark.parametrize(
    "pin", ["", "12345", "1234567", "12345a", "١٢٣٤٥٦", "111111", "121212", "123456", "654321", "417417"]
)
def test_pins_that_are_no_six_digits_or_a_pattern_are_refused(pin):
    with pytest.raises(BadInput) as refused:
        check_pin(pin)
    assert not pin or f'"{pin}"' not in str(refused.value)


@pytest.mark.analytic
def test_other_pins_are_taken():
    check_pin("481516")
    check_pin("090731")


@pytest.mark.analytic
def test_a_token_is_random_says_what_it_is_for_and_only_its_digest_is_kept():
    drawn = {tokens.drawn("a") for _ in range(50)}
    assert len(drawn) == 50
    one = drawn.pop()
    assert one.startswith("fwa_")
    assert len(one) >= 4 + 43, "256 bits in base64"
    assert tokens.digest_of(one) == hashlib.sha256(one.encode()).hexdigest()
    assert len(tokens.digest_of("\ud800")) == 64


@pytest.mark.analytic
def test_scopes_are_read_and_allow_no_more_than_they_say():
    assert tokens.read_scopes(["log", "read"]) == ("read", "log")
    for wrong in ([], ["write"], ["read", "admin"]):
        with pytest.raises(BadInput):
            tokens.read_scopes(wrong)
    assert tokens.allowed(("read",), "read")
    assert not tokens.allowed(("read",), "log")
    assert tokens.allowed(("log",), "log")
    assert not tokens.allowed(("log",), "read")
    assert not any(
        tokens.allowed(("read", "log"), each) for each in ("decide", "save flow", "administer", "own things")
    )
    assert passwords.PIN_DIGITS == 6


@pytest.mark.property
@given(st.text(max_size=40) | st.sampled_from([GOOD, "mara mara mara 1", "qwertyuiop1234", "x" * 200]))
def test_what_is_told_while_typing_is_what_is_refused_afterwards(password):
    taken, said = password_words(password, about=("mara",))
    try:
        check_password(password, about=("mara",))
    except BadInput:
        assert not taken
    else:
        assert taken
    assert len(password) < 6 or password not in said
