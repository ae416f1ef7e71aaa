"""What several tests of writing share."""

import os

import pytest


@pytest.fixture(params=["without a name", "with a name"])
def drafting(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both kinds of draft: the one that Linux offers and the one for everywhere."""
    if request.param == "with a name":
        monkeypatch.delattr(os, "O_TMPFILE", raising=False)
    return request.param
