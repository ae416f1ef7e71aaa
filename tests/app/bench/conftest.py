"""A bench with a recipe behind it."""

import pytest
from PySide6.QtCore import QEvent
from PySide6.QtWidgets import QApplication

from app import theme
from app.bench.bench import Bench
from tests.app.bench.parts import Desk


@pytest.fixture(autouse=True)
def themed(qapp):
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    theme.apply(qapp)
    yield
    qapp.setStyleSheet("")


@pytest.fixture
def bench(qtbot):
    bench = Bench()
    qtbot.addWidget(bench)
    bench.resize(300, 720)
    with qtbot.waitActive(bench):
        bench.show()
        bench.activateWindow()
    return bench


@pytest.fixture
def desk(bench):
    return Desk(bench)
