"""Kept files go out to be saved: a browser never shows them, whatever they claim to be."""

from email.message import Message

import pytest
from hypothesis import given
from hypothesis import strategies as st

from filmwright.web.attachments import attachment


@pytest.mark.analytic
@pytest.mark.parametrize("media", ["text/html", "image/svg+xml", "application/javascript", "", "text/plain"])
def test_a_kept_file_is_saved_and_never_shown(media):
    answer = attachment(b"<script>alert(1)</script>", "page.html", media)
    assert answer.headers["content-disposition"].startswith('attachment; filename="page.html"')
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["content-security-policy"] == "default-src 'none'; sandbox; frame-ancestors 'none'"
    kind = answer.headers["content-type"].partition(";")[0]
    assert kind == ("text/plain" if media == "text/plain" else "application/octet-stream")


@pytest.mark.reference
@given(st.text(max_size=80))
def test_any_name_gives_one_header_that_the_email_package_reads_back(name):
    # The standard library's reader of RFC 2231 parameters stands for a browser.
    header = attachment(b"", name).headers["content-disposition"]
    assert "\r" not in header
    assert "\n" not in header
    read = Message()
    read["content-disposition"] = header
    assert read.get_content_disposition() == "attachment"
    assert "/" not in (read.get_filename() or "")
