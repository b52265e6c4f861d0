"""The pages over a bench of their own, asked as a browser asks."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from starlette.testclient import TestClient

from filmwright.web import Settings, application


@pytest.fixture
def browser():
    """A browser before the pages of an empty record."""
    with TestClient(application(SimpleNamespace(), Settings()), base_url="http://127.0.0.1:8537") as client:
        yield client
