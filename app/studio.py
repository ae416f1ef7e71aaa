"""The studio window: bench, compare and ticket, joined to the session."""

from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QMimeData, QTimer
from PySide6.QtGui import QCloseEvent, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QVBoxLayout, QWidget

from app import demo
from app.bench.bench import WIDTH as BENCH_WIDTH
from app.bench.bench import Bench
from app.bench.steps import STEPS
from app.bench_parts import BenchParts
from app.compare.compare import Compare
from app.dialogs import Dialogs
from app.dropping import Dropping
from app.files import Files
from app.fitted import Fitted
from app.glass.glass_step import GlassStep
from app.journal import Journal
from app.notice import Notice
from app.opening import Opener
from app.panes import Panes
from app.placing import Placing
from app.renderer import Renderer
from app.session import Session
from app.settings import Settings
from app.studio_menus import StudioMenus
from app.ticket.ticket import Ticket
from shared.recipe import Recipe
from shared.recipe_file import SavedSession

if TYPE_CHECKING:
    from app.strip.strip_page import StripPage
    from engine.view import Picture

LEAST_HEIGHT = 640
START = (1280, 720)
WAIT_FOR_OPENING_MS = 1500
HINT = (
    "This is the demo portrait. Go down the bench from Photo to Output: "
    "take A and take B are two recipes for the same photo; F9 shows the photo before."
)


class Studio(QMainWindow):
    """The window. It joins parts; what they know, they know themselves."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self.settings = settings
        self.ended = False
        self.session = Session(self)
        self.renderer = Renderer(self)
        self.bench = Bench()
        self.bench.setFixedWidth(BENCH_WIDTH)
        self.compare = Compare()
        self.ticket = Ticket()
        self.hint = Notice("Hint", "Not again")
        self.recovery = Notice("Unsaved work", "Let it go")
        self.notice = Notice("Message")
        self.panes = Panes(self.session, self.compare, self.renderer)
        self.placing = Placing(self.session, self.compare, self.panes, self.bench)
        self.opener = Opener(self.session, settings, self)
        self.files = Files(self.session, self.opener, settings, self)
        self.journal = Journal(self.session, self)
        self.fitted = Fitted(self)
        self.dialogs = Dialogs(self)
        self.glass = GlassStep(self)
        self.parts = BenchParts(self)
        self.menus = StudioMenus(self)
        self._measured: dict[str, Picture] = {}
        self.setMinimumHeight(LEAST_HEIGHT)
        self._lay_out()
        self.dropping = Dropping(self, self.open_data)
        self._join()
        self._bring_back()
        self._retitle()
        self.compare.set_stage(0, "look")
        self.compare.set_take(1, "A")
        self.compare.set_stage(1, "proof")
        self.parts.first_focus.setFocus()

    @cached_property
    def strip(self) -> "StripPage":
        """The page of the test strip, made when it is first wanted."""
        from app.strip.strip_page import StripPage  # its readers would hold up the start

        return StripPage(self)

    def open_strip(self) -> None:
        """The page that leads through the test strip."""
        self.strip.open()

    def check_piece(self) -> None:
        """Compare a photo of the finished piece with its plate."""
        self.strip.check()

    @property
    def take(self) -> str:
        """The take that the bench works on."""
        return self.panes.active_take

    @property
    def recipe(self) -> Recipe:
        """The recipe that the bench works on."""
        return self.session.recipe(self.take)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(0)
        left.addWidget(self.parts.takes)
        left.addWidget(self.bench, 1)
        columns = QHBoxLayout()
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(2)
        columns.addLayout(left)
        columns.addWidget(self.compare, 1)
        columns.addWidget(self.ticket)
        centre = QWidget()
        rows = QVBoxLayout(centre)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        for line in (self.hint, self.recovery, self.notice):
            rows.addWidget(line)
        rows.addLayout(columns, 1)
        self.setCentralWidget(centre)

    def _join(self) -> None:
        session, bench, compare = self.session, self.bench, self.compare
        bench.edited.connect(lambda key, value: session.edit(self.take, {key: value}))
        bench.edit_started.connect(session.begin)
        bench.edit_finished.connect(session.finish)
        bench.reset_wanted.connect(lambda key: session.reset_field(self.take, key))
        bench.reset_step_wanted.connect(self._reset_step)
        session.refused.connect(bench.show_problem)
        session.takes_changed.connect(self._show_recipe)
        session.history_changed.connect(self._retitle)
        session.photo_changed.connect(self._photo_changed)
        compare.active_changed.connect(self._show_recipe)
        compare.take_chosen.connect(self._show_recipe)
        compare.point_began.connect(lambda _: session.begin("tone.bare_point"))
        compare.bare_point_moved.connect(lambda pane, tone: self._point(pane, "bare", tone))
        compare.full_point_moved.connect(lambda pane, tone: self._point(pane, "full", tone))
        compare.point_ended.connect(lambda _: session.finish())
        self.panes.shown.connect(self._pane_shown)
        self.renderer.failed.connect(self.notice.warn)
        self.opener.started.connect(lambda name: self.notice.tell_soon(f"Opening {name}\u2026"))
        self.opener.opened.connect(self._opened)
        self.opener.failed.connect(self.notice.warn)
        self.files.told.connect(self.notice.tell)
        self.files.failed.connect(self.notice.warn)
        self.files.asked.connect(self._ask)
        self.files.renamed.connect(self._retitle)
        self.journal.failed.connect(self.notice.warn)
        self.fitted.failed.connect(self.notice.warn)
        self.fitted.changed.connect(self._show_facts)
        self.ticket.step_wanted.connect(self.go_to_step)
        self.ticket.output_wanted.connect(self.dialogs.output)
        self.ticket.cautions_wanted.connect(self.dialogs.cautions)
        self.show_units()

    def _ask(self, sentence: str, label: str, action: Callable[[], None]) -> None:
        self.notice.ask(sentence, label, action)

    def go_to_step(self, name: str) -> None:
        """Open a step and let the keyboard go on there."""
        self.bench.open_step(name)
        self.bench.focus_step(name)

    def _reset_step(self, name: str) -> None:
        step = next(step for step in STEPS if step.name == name)
        self.session.reset(self.take, step.groups, step.label)

    def _point(self, pane: int, end: str, tone: float) -> None:
        take = self.compare.panes[pane].take
        self.session.edit(take, {f"tone.{end}_point": tone})

    def _show_recipe(self) -> None:
        self.bench.show_recipe(self.recipe)
        self.glass.follow()
        self._show_facts()

    def _photo_changed(self) -> None:
        prepared = self.session.prepared
        self._measured.clear()
        self.bench.set_summary("photo", prepared.photo.name if prepared else "none open")
        self.parts.show_photo(prepared)
        if prepared is None:
            self.ticket.show_nothing()
        self._retitle()

    def _opened(self, _: object) -> None:
        self.notice.clear()
        prepared = self.session.prepared
        if prepared is not None and prepared.photo.notes:
            self.notice.tell(" ".join(prepared.photo.notes))

    def _pane_shown(self, pane: int, picture: "Picture") -> None:
        take = self.compare.panes[pane].take
        self._measured[take] = picture
        if take == self.take:
            self._show_facts()

    def _show_facts(self) -> None:
        prepared = self.session.prepared
        self.parts.takes.show_take(self.take)
        if prepared is None:
            return
        from engine.facts import facts

        measured = self._measured.get(self.take)
        found = facts(
            self.recipe,
            prepared.photo,
            self.session.profile,
            measured.shares if measured else None,
            self.fitted.now,
        )
        self.ticket.show_facts(self.take, found)
        self.parts.show_facts(found)
        if measured is not None:
            self.parts.show_tones(measured)
            self.glass.show_tones(measured)

    def show_units(self) -> None:
        """Follow the preference for mm or inches."""
        inches = self.settings.inches
        self.bench.show_units("in" if inches else "mm")
        self.ticket.show_units(inches)
        self.parts.show_units(inches)
        self.panes.show_units(inches)
        self._show_facts()

    def open_demo(self) -> None:
        """The demo portrait, with the line that leads through the steps."""
        if not demo.PORTRAIT.exists():
            self.notice.warn(
                "This copy of Rimetype came without its demo portrait; open a photo of your own."
            )
            return
        self.opener.open_path(demo.PORTRAIT)
        if self.settings.hint_wanted:
            self.show_hint()

    def show_hint(self) -> None:
        """The line that leads through the steps; it can be sent away for good."""
        self.hint.ask(HINT, "Show me the keys", self.dialogs.keys, self._hint_sent_away)

    def _hint_sent_away(self) -> None:
        self.settings.hint_wanted = False

    def offer_unsaved_work(self, left: SavedSession) -> None:
        """After a start that did not end cleanly; until the answer, nothing overwrites the work."""
        self.files.restored.connect(self.journal.release)
        self.recovery.ask(
            "Rimetype did not end cleanly. The unsaved work can be brought back.",
            "Bring it back",
            lambda: self.files.restore(left, None),
            self.journal.release,
        )

    def paste(self) -> None:
        """Open the picture on the clipboard."""
        if not self.opener.paste(QGuiApplication.clipboard().mimeData()):
            self.notice.warn("The clipboard holds no picture; copy one first.")

    def open_data(self, data: QMimeData) -> None:
        """Open what was dropped."""
        paths = self.files.open_first(data, self.take)
        if not paths:
            self.opener.paste(data)

    def _retitle(self) -> None:
        prepared = self.session.prepared
        path = self.files.path
        name = path.name if path else prepared.photo.name if prepared else "no photo"
        self.setWindowTitle(f"{name.replace('[*]', '[*][*]')}[*] \u2013 Rimetype")
        self.setWindowModified(self.session.unsaved and prepared is not None)
        self.menus.show_history()

    def _bring_back(self) -> None:
        self.resize(*START)
        geometry = self.settings.geometry()
        if geometry is not None:
            self.restoreGeometry(geometry)

    def changeEvent(self, event: QEvent) -> None:
        """Panes of another size need other pictures."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            QTimer.singleShot(0, self.panes.refresh)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work; then end the workers."""
        if self.ended or not self.files.may_leave():
            event.setAccepted(self.ended)
            return
        self.settings.set_geometry(self.saveGeometry())
        self.settings.sync()
        self.dialogs.close()
        self.journal.remove()
        self.renderer.stop()
        self.glass.stop()
        if "strip" in vars(self):
            self.strip.stop()
        self.ended = self.opener.wait(WAIT_FOR_OPENING_MS)
        event.accept()
