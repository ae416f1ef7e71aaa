"""The studio window: bench, compare and ticket, joined to the session."""

import sys
from pathlib import Path

from PySide6.QtCore import QEvent, QEventLoop, Qt, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDropEvent,
    QGuiApplication,
)
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QMainWindow,
    QVBoxLayout,
    QWidget,
)

from app import demo, help_pages, theme
from app.bench.bench import WIDTH as BENCH_WIDTH
from app.bench.bench import Bench
from app.bench.steps import STEPS
from app.bench_parts import BenchParts
from app.compare.compare import Compare
from app.contact_sheet import ContactSheet
from app.files import Files
from app.keeping import Journal
from app.notice import Notice
from app.opening import Opener, holds_photo
from app.output_dialog import OutputDialog
from app.panes import Panes
from app.placing import Placing
from app.preferences import Preferences
from app.qimage import array_from_image
from app.renderer import Renderer
from app.session import Session
from app.settings import Settings
from app.studio_menus import StudioMenus
from app.ticket.ticket import Ticket
from engine import facts as ticket_facts
from engine.output import write_rgb8
from engine.view import Picture
from shared.profile import GENERIC
from shared.recipe import Recipe

SMALLEST = (1024, 640)
START = (1280, 720)
SCREEN_PITCH_MM = 25.4 / 96.0
HINT = (
    "This is the demo portrait. Go down the bench from Photo to Output: "
    "take A and take B are two recipes for the same photo; F9 shows the photo before."
)


class Studio(QMainWindow):
    """The window. It joins parts; what they know, they know themselves."""

    def __init__(self, settings: Settings) -> None:
        super().__init__()
        self.settings = settings
        self.session = Session(self)
        self.renderer = Renderer(self)
        self.compare = Compare()
        self.bench = Bench()
        self.bench.setFixedWidth(BENCH_WIDTH)
        self.ticket = Ticket()
        self.notice = Notice("Message")
        self.hint = Notice("Hint")
        self.panes = Panes(self.session, self.compare, self.renderer)
        self.placing = Placing(self.session, self.compare, self.panes, self.bench)
        self.opener = Opener(self.session, settings, self)
        self.files = Files(self.session, self.opener, settings, self)
        self.journal = Journal(self.session, self)
        self.parts = BenchParts(self)
        self.menus = StudioMenus(self)
        self._shares: dict[str, Picture] = {}
        self.setAcceptDrops(True)
        self.setMinimumSize(*SMALLEST)
        self._lay_out()
        self._join()
        self._bring_back()
        self._retitle()
        self.compare.set_stage(0, "look")
        self.compare.set_take(1, "A")
        self.compare.set_stage(1, "proof")

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
        rows.addWidget(self.hint)
        rows.addWidget(self.notice)
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
        self.opener.started.connect(lambda name: self.notice.tell(f"Opening {name}\u2026"))
        self.opener.opened.connect(self._opened)
        self.opener.failed.connect(self.notice.warn)
        self.files.told.connect(self.notice.tell)
        self.files.failed.connect(self.notice.warn)
        self.files.renamed.connect(self._retitle)
        self.journal.failed.connect(self.notice.warn)
        self.ticket.step_wanted.connect(bench.open_step)
        self.ticket.output_wanted.connect(self.output)
        self.ticket.cautions_wanted.connect(self.show_cautions)
        self.show_units()

    def _reset_step(self, name: str) -> None:
        groups = next(step.groups for step in STEPS if step.name == name)
        self.session.reset(self.take, groups, name)

    def _point(self, pane: int, end: str, tone: float) -> None:
        take = self.compare.panes[pane].take
        self.session.edit(take, {f"tone.{end}_point": tone})

    def _show_recipe(self) -> None:
        self.bench.show_recipe(self.recipe)
        self._show_ticket()

    def _photo_changed(self) -> None:
        prepared = self.session.prepared
        self.bench.set_summary("photo", prepared.photo.name if prepared else "none open")
        self.parts.show_photo(prepared)
        if prepared is None:
            self.ticket.show_nothing()
        self._retitle()

    def _opened(self, _: object) -> None:
        self.notice.hide()
        prepared = self.session.prepared
        if prepared is not None and prepared.photo.notes:
            self.notice.tell(" ".join(prepared.photo.notes))

    def _pane_shown(self, pane: int, picture: Picture) -> None:
        shown = self.compare.panes[pane]
        if shown.stage != "photo":
            self._shares[shown.take] = picture
        if shown.take == self.take:
            self.parts.show_tones(shown.stage, picture)
            self._show_ticket()

    def _show_ticket(self) -> None:
        prepared = self.session.prepared
        if prepared is None:
            return
        measured = self._shares.get(self.take)
        found = ticket_facts.facts(
            self.recipe, prepared.photo, GENERIC, measured.shares if measured else None
        )
        self.ticket.show_facts(self.take, found, self.settings.inches)
        self.parts.show_facts(found)

    def show_units(self) -> None:
        """Follow the preference for mm or inches."""
        self.bench.show_units("in" if self.settings.inches else "mm")
        self._show_ticket()

    def open_demo(self) -> None:
        """The demo portrait, with the line that leads through the steps."""
        self.opener.open_path(demo.PORTRAIT)
        if self.settings.hint_wanted:
            self.hint.ask(HINT, "Show me the keys", self.show_keys, self._hint_sent_away)

    def _hint_sent_away(self) -> None:
        self.settings.hint_wanted = False

    def show_contact_sheet(self) -> None:
        """All greys at once; any can go to take A or B."""
        if self.session.prepared is None:
            self.notice.warn("Open a photo first; the contact sheet shows its greys.")
            return
        sheet = ContactSheet(self.session.prepared, self.recipe, self)
        sheet.chosen.connect(self.parts.take_grey)
        self._run(sheet)

    def output(self) -> None:
        """Write the plate of the active take."""
        prepared = self.session.prepared
        if prepared is None:
            self.notice.warn("Open a photo first; then its plate can be written.")
            return
        self.journal.write()
        folder = Path(self.settings.folder("output"))
        found = ticket_facts.facts(self.recipe, prepared.photo, GENERIC, None)
        dialog = OutputDialog(prepared, self.recipe, found, folder, self)
        dialog.written.connect(self._written)
        self._run(dialog)

    def _written(self, path: Path) -> None:
        self.settings.set_folder("output", path.parent)
        self.notice.tell(f"Wrote {path} and read it back: it is right.")

    def show_preferences(self) -> None:
        """Units and limits."""
        dialog = Preferences(self.settings, self)
        dialog.units_changed.connect(self.show_units)
        self._run(dialog)

    def show_cautions(self) -> None:
        """The usual cautions of the trade."""
        self._run(help_pages.cautions(self))

    def show_keys(self) -> None:
        """All keys."""
        self._run(help_pages.keys(self, self.menus.bound_keys()))

    def show_fields(self) -> None:
        """All fields."""
        self._run(help_pages.fields(self))

    def _run(self, dialog: QDialog) -> None:
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def paste(self) -> None:
        """Open the picture on the clipboard."""
        if not self.opener.paste(QGuiApplication.clipboard().mimeData()):
            self.notice.warn("The clipboard holds no picture; copy one first.")

    def _retitle(self) -> None:
        prepared = self.session.prepared
        name = self.files.path.name if self.files.path else None
        if name is None:
            name = prepared.photo.name if prepared else "no photo"
        self.setWindowTitle(f"{name}[*] \u2013 Rimetype")
        self.setWindowModified(self.session.unsaved and prepared is not None)
        self.menus.show_history()

    def _bring_back(self) -> None:
        self.resize(*START)
        geometry = self.settings.geometry()
        if geometry is not None:
            self.restoreGeometry(geometry)

    def changeEvent(self, event: QEvent) -> None:
        """A display of another density needs other pictures."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.WindowStateChange:
            QTimer.singleShot(0, self.panes.refresh)

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Show that a photo may be dropped."""
        if holds_photo(event.mimeData()):
            event.acceptProposedAction()
            self.hint.tell("Let go to open this photo.")

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """Nothing was dropped."""
        self.hint.hide()
        super().dragLeaveEvent(event)

    def dropEvent(self, event: QDropEvent) -> None:
        """Open what was dropped."""
        self.hint.hide()
        paths = [Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()]
        if paths:
            self.files.open_any(paths[0])
        else:
            self.opener.paste(event.mimeData())
        event.acceptProposedAction()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work; then end the workers."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.settings.set_geometry(self.saveGeometry())
        self.settings.sync()
        self.opener.wait()
        self.renderer.stop()
        self.journal.remove()
        event.accept()


def make_application() -> QApplication:
    """The Qt application in its style; one for each process."""
    existing = QApplication.instance()
    if isinstance(existing, QApplication):
        return existing
    application = QApplication(sys.argv[:1])
    application.setApplicationName("Rimetype")
    application.setDesktopFileName("rimetype")
    application.setWindowIcon(theme.icon("rimetype"))
    theme.apply(application)
    return application


def picture_of_studio(photo: Path, target: Path) -> None:
    """Open the window on a photo without showing it and save a picture of it as PNG."""
    application = make_application()
    studio = Studio(Settings())
    loop = QEventLoop()
    studio.panes.settled.connect(loop.quit)
    studio.opener.failed.connect(lambda _: loop.quit())
    studio.show()
    studio.opener.open_path(photo)
    loop.exec()
    application.processEvents()
    pixels = array_from_image(studio.grab().toImage())[:, :, :3]
    write_rgb8(pixels, target, SCREEN_PITCH_MM, overwrite=True)
    studio.session.mark_saved()
    studio.close()


def open_studio(photo: Path | None) -> int:
    """Open the window and stay until it is closed."""
    application = make_application()
    settings = Settings()
    studio = Studio(settings)
    studio.show()
    left = studio.journal.left_over()
    if photo is not None:
        studio.files.open_any(photo)
    elif left is None:
        studio.open_demo()
    if left is not None:
        studio.notice.ask(
            "Rimetype did not end cleanly. The unsaved work can be brought back.",
            "Bring it back",
            lambda: studio.files.restore(left, None),
            studio.journal.remove,
        )
    return application.exec()
