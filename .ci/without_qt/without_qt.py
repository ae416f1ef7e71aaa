"""A pytest plugin for the run without Qt: knows pytest-qt's settings while pytest-qt is away.

It also makes sure that Qt really is out of reach, since a run that could import it proves nothing.
"""

import importlib

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    """Accept what pyproject.toml says to pytest-qt."""
    for name in ("qt_api", "qt_log_level_fail", "qt_log_ignore"):
        parser.addini(name, "read by pytest-qt, which is not in this run")


def pytest_configure() -> None:
    """Refuse to run where Qt can be imported."""
    for name in ("PySide6", "shiboken6"):
        try:
            importlib.import_module(name)
        except ModuleNotFoundError:
            continue
        raise pytest.UsageError(f"{name} can be imported, so this run would prove nothing.")
