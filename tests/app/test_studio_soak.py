"""Many actions in no sensible order: nothing raises, and memory stays bounded."""

import os
import random

import psutil
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication

from app.bench.steps import STEPS
from app.compare.pane import STAGES
from app.compare.tool_row import MODES
from shared.recipe import all_fields

ACTIONS = int(os.environ.get("RIMETYPE_SOAK", "120"))
"""RIMETYPE_SOAK=600 makes it a long one."""
MOST_GROWTH = 200e6
LEFT = Qt.MouseButton.LeftButton


class Restless:
    """A user who tries everything."""

    def __init__(self, desk, photos, seed):
        self.desk, self.photos = desk, photos
        self.studio, self.chance = desk.studio, random.Random(seed)
        self.fields = [
            (key, info)
            for key, info in all_fields()
            if key.split(".")[1] not in ("width_mm", "height_mm", "pitch_mm")
        ]

    def act(self):
        self.chance.choice(
            [
                self.edit, self.edit, self.edit, self.drag, self.wheel, self.mode, self.stage,
                self.take, self.history, self.history, self.step, self.copy, self.swap,
                self.reset, self.open, self.size, self.zoom, self.before, self.active, self.plate,
            ]
        )()  # fmt: skip

    def edit(self):
        key, info = self.chance.choice(self.fields)
        self.studio.bench.open_step(next(s.name for s in STEPS if key in s.keys))
        control = self.studio.bench.control(key)
        if info.kind == "number":
            control.begin()
            for _ in range(self.chance.randint(1, 4)):
                control.change(self.chance.uniform(info.low, info.high))
            control.end()
        elif info.kind == "choice":
            control.change(self.chance.choice(info.options).value)
        elif info.kind == "flag":
            control.change(not control.value)
        elif info.kind == "region":
            control.change(self.chance.choice([None, (0.2, 0.2, 0.6, 0.7)]))
        elif info.kind == "curve":
            control.change(((0.0, 0.0), (0.4, self.chance.uniform(0.1, 0.9)), (1.0, 1.0)))

    def spot(self):
        canvas = self.studio.compare.panes[0].canvas
        return canvas, QPoint(
            self.chance.randrange(canvas.width()), self.chance.randrange(canvas.height())
        )

    def drag(self):
        canvas, start = self.spot()
        _, end = self.spot()
        self.desk.qtbot.mousePress(canvas, LEFT, pos=start)
        self.desk.qtbot.mouseMove(canvas, end)
        self.desk.qtbot.mouseRelease(canvas, LEFT, pos=end)

    def wheel(self):
        canvas, spot = self.spot()
        control = Qt.KeyboardModifier.ControlModifier
        keys = self.chance.choice([Qt.KeyboardModifier.NoModifier, control])
        turn = QPoint(0, self.chance.choice([-240, -120, 120, 240]))
        event = QWheelEvent(
            QPointF(spot), canvas.mapToGlobal(QPointF(spot)), QPoint(), turn,
            Qt.MouseButton.NoButton, keys, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(canvas, event)

    def mode(self):
        self.studio.compare.set_mode(self.chance.choice(MODES))

    def stage(self):
        box = self.studio.compare.panes[self.chance.randrange(2)]._stages
        box.setCurrentIndex(self.chance.randrange(len(STAGES)))
        box.activated.emit(box.currentIndex())

    def take(self):
        pane = self.studio.compare.panes[self.chance.randrange(2)]
        pane._takes.buttons[self.chance.choice("AB")].click()

    def history(self):
        self.chance.choice([self.studio.session.undo, self.studio.session.redo])()

    def step(self):
        self.studio.go_to_step(self.chance.choice(STEPS).name)

    def copy(self):
        self.studio.parts.takes.copy.click()

    def swap(self):
        self.studio.session.swap_takes()

    def reset(self):
        self.studio.bench.reset_step_wanted.emit(self.chance.choice(STEPS).name)
        self.plate()

    def open(self):
        self.studio.files.open_any(self.chance.choice(self.photos))

    def size(self):
        self.studio.resize(self.chance.randint(1280, 1500), self.chance.randint(640, 900))

    def zoom(self):
        self.studio.compare.viewport.zoom_to_percent(self.chance.choice([50, 100, 300, 800]))

    def before(self):
        self.studio.compare.set_before(not self.studio.compare.before)

    def active(self):
        self.studio.compare.set_active(self.chance.randrange(2))

    def plate(self):
        values = {
            "plate.width_mm": self.chance.choice([30.0, 40.0]),
            "plate.height_mm": self.chance.choice([30.0, 50.0]),
            "plate.margin_mm": self.chance.choice([0.0, 2.0]),
        }
        self.studio.session.edit(self.studio.take, values)


@pytest.mark.parametrize("seed", [1, 2])
def test_a_restless_user(open_desk, make_photo, tmp_path, seed):
    desk, studio = open_desk, open_desk.studio
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"no picture")
    photos = [make_photo("one.png"), make_photo("two.jpg", rows=120, columns=300), broken]
    failures = []
    studio.renderer.failed.connect(failures.append)
    user = Restless(desk, photos, seed)
    process = psutil.Process()
    settled_at = 0
    for number in range(ACTIONS // 2):
        user.act()
        if number % 4 == 0:
            QApplication.processEvents()
        if number == ACTIONS // 8:
            settled_at = process.memory_info().rss
    desk.until(lambda: not studio.opener.busy)
    desk.do(studio.panes.refresh)
    assert not failures
    assert process.memory_info().rss - settled_at < MOST_GROWTH
    takes = dict(studio.session.takes)
    steps = 0
    while studio.session.undo_name:
        studio.session.undo()
        steps += 1
    assert steps > 5
    for _ in range(steps):
        studio.session.redo()
    assert studio.session.takes == takes
