"""The windows that the studio opens above itself; each is imported when it is first opened."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QDialog

if TYPE_CHECKING:
    from app.studio import Studio


class Dialogs(QObject):
    """Opens one dialog at a time; none outlives its closing."""

    def __init__(self, studio: "Studio") -> None:
        super().__init__(studio)
        self._studio = studio
        self._open: QDialog | None = None

    def contact_sheet(self) -> None:
        """All greys at once; any can go to take A or B."""
        studio = self._studio
        prepared = studio.session.prepared
        if prepared is None:
            studio.notice.warn("Open a photo first; the contact sheet shows its greys.")
            return
        from app.contact_sheet import ContactSheet

        sheet = ContactSheet(prepared, studio.recipe, studio)
        sheet.show_takes(studio.session.takes)
        sheet.chosen.connect(studio.parts.take_grey)
        sheet.chosen.connect(lambda: sheet.show_takes(studio.session.takes))
        self.run(sheet)

    def output(self) -> None:
        """Write the plate of the active take."""
        studio = self._studio
        prepared = studio.session.prepared
        if prepared is None:
            studio.notice.warn("Open a photo first; then its plate can be written.")
            return
        from app.output_dialog import OutputDialog
        from engine.facts import facts

        studio.journal.write()
        folder = Path(studio.settings.folder("output"))
        profile = studio.session.profile
        found = facts(studio.recipe, prepared.photo, profile, None, studio.fitted.now)
        size = studio.ticket.size_text(found)
        dialog = OutputDialog(prepared, studio.recipe, profile, found, size, folder, studio)
        dialog.written.connect(self._written)
        self.run(dialog)

    def preferences(self) -> None:
        """Units and limits."""
        from app.preferences import Preferences

        dialog = Preferences(self._studio.settings, self._studio)
        dialog.units_changed.connect(self._studio.show_units)
        self.run(dialog)

    def fitted(self) -> None:
        """What is fitted at the machine now."""
        from app.glass.fitted_dialog import FittedDialog

        studio = self._studio
        dialog = FittedDialog(studio.fitted.now or studio.session.profile, studio)
        dialog.accepted.connect(lambda: studio.fitted.keep(dialog.profile))
        self.run(dialog)

    def cautions(self) -> None:
        """The usual cautions of the trade."""
        from app import help_pages

        self.run(help_pages.cautions(self._studio))

    def keys(self) -> None:
        """All keys."""
        from app import help_pages

        self.run(help_pages.keys(self._studio, self._studio.menus.bound_keys()))

    def fields(self) -> None:
        """All fields."""
        from app import help_pages

        self.run(help_pages.fields(self._studio))

    def close(self) -> None:
        """Close what is open, as the window closes; work in it is stopped."""
        if self._open is None:
            return
        from app.output_dialog import OutputDialog

        if isinstance(self._open, OutputDialog):
            self._open.stop()
        self._open.reject()

    def _written(self, path: Path) -> None:
        self._studio.settings.set_folder("output", path.parent)
        self._studio.notice.tell(f"Wrote {path} and read it back: it is right.")

    def run(self, dialog: QDialog) -> None:
        """Open a dialog over the studio."""
        self._open = dialog
        dialog.finished.connect(self._closed)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()

    def _closed(self) -> None:
        self._open = None
