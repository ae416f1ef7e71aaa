"""From a moved slider to both panes painted, in the window itself."""

import gc
import os
import tempfile
import time
from collections.abc import Iterator

from PySide6.QtCore import QCoreApplication, QEvent, QEventLoop
from PySide6.QtWidgets import QApplication
from sliders import SLIDERS, Slider
from table import Row, percentile

from app.compare.viewport import FIT_PADDING_PX
from app.launch import make_application
from app.settings import Settings
from app.studio import Studio
from engine.flow import Prepared
from shared.recipe import Recipe

_ROOM = 2 * FIT_PADDING_PX
_WARM = 3


def window_rows(
    prepared: Prepared, base: Recipe, pane: tuple[int, int], count: int
) -> Iterator[Row]:
    """Every slider, drawn through its range, in a window whose pictures fill `pane` (columns and
    rows); 33 ms are meant for a machine to itself."""
    with tempfile.TemporaryDirectory() as home:
        os.environ["RIMETYPE_HOME"] = home
        make_application()
        hands = Hands(prepared, base, pane)
        for slider in SLIDERS:
            steps = hands.draw(slider, count)
            worst, usual = (percentile([wall for wall, _ in steps], share) for share in (0.95, 0.5))
            work = percentile([cpu for _, cpu in steps], 0.5)
            note = f"half within {usual * 1e3:.1f} ms, {work * 1e3:.1f} ms of all processors' time"
            yield Row(f"{slider.key}: repainted, 95 %", worst * 1e3, "ms", 33.0, note=note)
        hands.leave()


class Hands:
    """A studio with a photo open, and who draws its sliders."""

    def __init__(self, prepared: Prepared, base: Recipe, pane: tuple[int, int]) -> None:
        self._prepared, self._base = prepared, base
        self._studio = Studio(Settings())
        self._settled = QEventLoop()
        self._studio.panes.settled.connect(self._settled.quit)
        self._studio.show()
        canvas = self._studio.compare.panes[0].canvas
        QApplication.processEvents()
        self._studio.resize(
            self._studio.width() + 2 * (pane[0] + _ROOM - canvas.width()),
            self._studio.height() + pane[1] + _ROOM - canvas.height(),
        )
        QApplication.processEvents()
        gc.freeze()  # as at every start

    def draw(self, slider: Slider, count: int) -> list[tuple[float, float]]:
        """Seconds, and processor seconds, from each value of take A's slider to the window
        painted."""
        session = self._studio.session
        start = slider.start(self._base)
        session.open_photo(self._prepared, {"A": start, "B": start})
        self._wait()
        session.begin(slider.key)
        steps = []
        for value in slider.values(_WARM + count):
            wall, cpu = time.perf_counter(), time.process_time()
            session.edit("A", {slider.key: value})
            self._wait()
            steps.append((time.perf_counter() - wall, time.process_time() - cpu))
        session.finish()
        self._wait()
        return steps[_WARM:]

    def _wait(self) -> None:
        """Until the panes have what they want and it is painted."""
        self._settled.exec()
        QApplication.processEvents()

    def leave(self) -> None:
        """Close the window."""
        gc.unfreeze()
        self._studio.session.mark_saved()
        self._studio.close()
        self._studio.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
