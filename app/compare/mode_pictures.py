"""Which picture, tag and sign of work each canvas shows, as the two panes are compared."""

from typing import Literal

from PySide6.QtCore import QObject, QTimer

from app.compare.canvas import Canvas
from app.compare.frame import Frame
from app.compare.pane import Pane

Mode = Literal["side", "wipe", "blink", "difference"]
BLINK_MS = 600


class ModePictures(QObject):
    """Side by side each canvas shows its own pane; in the other modes the first shows both."""

    def __init__(self, panes: tuple[Pane, Pane], parent: QObject) -> None:
        super().__init__(parent)
        self._panes = panes
        self._frames: list[Frame | None] = [None, None]
        self._difference: Frame | None = None
        self._waiting = [False, False]
        self.mode: Mode = "side"
        """As `set_mode` left it."""
        self.blink_pane = 0
        """The pane whose picture is shown while blinking."""
        self._blink = QTimer(self, interval=BLINK_MS)
        self._blink.timeout.connect(self._blink_on)

    def canvas_of(self, index: int) -> Canvas:
        """The canvas that shows the picture of a pane now."""
        return self._panes[index if self.mode == "side" else 0].canvas

    def frame(self, index: int) -> Frame | None:
        """The picture of a pane."""
        return self._frames[index]

    def set_frame(self, index: int, frame: Frame | None) -> None:
        """A new picture for a pane."""
        self._frames[index] = frame
        self._show_frames()

    def set_difference(self, frame: Frame | None) -> None:
        """The picture of the difference mode."""
        self._difference = frame
        self._show_frames()

    def set_waiting(self, index: int, waiting: bool) -> None:
        """Work on the picture of a pane goes on."""
        self._waiting[index] = waiting
        self._show_waiting()

    def set_mode(self, mode: Mode) -> None:
        """Compare in another way; `show` has to follow once the canvases have their places."""
        self.mode = mode
        self.blink_pane = 0
        if mode == "blink":
            self._blink.start()
        else:
            self._blink.stop()

    def show(self) -> None:
        """All that the canvases have to show now."""
        self._show_frames()
        self._show_waiting()

    def show_tags(self) -> None:
        """What the pictures are, from the panes' takes and stages."""
        labels = [pane.label for pane in self._panes]
        takes = [pane.take for pane in self._panes]
        apart = f"Looks of {takes[0]} and {takes[1]}, difference"
        if takes[0] == takes[1]:
            apart = f"Both panes show take {takes[0]}: no difference"
        tags = {
            "side": ("", ""),
            "wipe": (labels[0], labels[1]),
            "blink": (labels[self.blink_pane], ""),
            "difference": (apart, ""),
        }[self.mode]
        canvas = self._panes[0].canvas
        canvas.set_tags(*tags)
        canvas.set_facts(" and ".join(tag for tag in tags if tag) or labels[0])

    def _blink_on(self) -> None:
        self.blink_pane = 1 - self.blink_pane
        self._show_frames()

    def _show_frames(self) -> None:
        first, second = (pane.canvas for pane in self._panes)
        if self.mode == "side":
            first.set_frame(self._frames[0])
            second.set_frame(self._frames[1])
        elif self.mode == "wipe":
            first.set_frame(self._frames[0])
            first.set_second(self._frames[1])
        elif self.mode == "blink":
            first.set_frame(self._frames[self.blink_pane])
        else:
            first.set_frame(self._difference)
        self.show_tags()

    def _show_waiting(self) -> None:
        if self.mode == "side":
            for pane, waiting in zip(self._panes, self._waiting, strict=True):
                pane.canvas.set_waiting(waiting)
        else:
            self._panes[0].canvas.set_waiting(any(self._waiting))
