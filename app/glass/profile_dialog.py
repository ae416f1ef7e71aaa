"""Editing a glass profile: the form, its curve beside it, files in and out."""

from pathlib import Path

import attrs
from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.glass import profile_files
from app.glass.curve_plot import CurvePlot
from app.glass.origin_line import OriginLine
from app.glass.profile_form import ProfileForm, check
from app.settings import Settings
from shared.errors import RimetypeError
from shared.profile import Doubt, GlassProfile

BY_HAND = "entered by hand"
FORM_WIDTH = 500


class ProfileDialog(QDialog):
    """After OK, `profile` is what the user made; the caller takes it over as one step."""

    def __init__(self, profile: GlassProfile, settings: Settings, parent: QWidget | None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Glass profile")
        self._settings = settings
        self._base = self.profile = profile
        self.form = ProfileForm(profile)
        self.plot = CurvePlot()
        self.plot.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.origin = OriginLine()
        self.problem = QLabel()
        self.problem.setProperty("role", "warning")
        self.problem.setWordWrap(True)
        self.problem.setTextFormat(Qt.TextFormat.PlainText)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel
        )
        self.ok = self.buttons.button(QDialogButtonBox.StandardButton.Ok)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        self.import_button = self._file_button("Import...", "Take all figures from a profile file")
        self.import_button.clicked.connect(self._ask_import)
        self.export_button = self._file_button("Export...", "Save these figures as a profile file")
        self.export_button.clicked.connect(self._ask_export)
        self.form.edited.connect(self._follow)
        self._lay_out()
        self._follow()
        self.form.fields["name"].setFocus()

    def import_from(self, path: Path) -> None:
        """Show a file's profile; what cannot be read is told of and nothing changes."""
        try:
            profile = profile_files.open_profile(path, self._settings)
        except RimetypeError as error:
            self._tell(str(error))
            return
        self._base = profile
        self.form.set_profile(profile)
        self._follow()

    def export_to(self, path: Path, *, overwrite: bool) -> None:
        """Save the profile as it stands."""
        try:
            profile_files.save_profile(self.profile, path, self._settings, overwrite=overwrite)
        except RimetypeError as error:
            self._tell(str(error))
        else:
            self._tell(f"Saved {path.name}.", warning=False)

    def _ask_import(self) -> None:
        path = profile_files.ask_open(self, self._settings)
        if path is not None:
            self.import_from(path)

    def _ask_export(self) -> None:
        path = profile_files.ask_save(self, self._settings, self.profile.name)
        if path is not None:
            self.export_to(path, overwrite=True)

    def _follow(self) -> None:
        """Take over what the form says, or say why it cannot be."""
        found = check(self.form)
        good = isinstance(found, GlassProfile)
        self.ok.setEnabled(good)
        self.export_button.setEnabled(good)
        if isinstance(found, str):
            self._tell(found)
            return
        self.profile = by_hand(found, self._base)
        self._tell("")
        self.origin.show_origin(self.profile)
        self.plot.show_profile(self.profile)

    def _tell(self, sentence: str, *, warning: bool = True) -> None:
        self.problem.setText(f"\u26a0 {sentence}" if warning and sentence else sentence)
        self.problem.setAccessibleName(sentence)
        self.problem.setProperty("role", "warning" if warning else "caption")
        self.problem.style().polish(self.problem)

    def _file_button(self, text: str, tip: str) -> QPushButton:
        button = QPushButton(text)
        button.setToolTip(tip)
        button.setAutoDefault(False)
        return button

    def _lay_out(self) -> None:
        scroll = QScrollArea()
        scroll.setWidget(self.form)
        scroll.setWidgetResizable(True)
        scroll.setFrameShape(QFrame.Shape.NoFrame)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setMinimumWidth(FORM_WIDTH)
        for button in self.form.findChildren(QPushButton):
            button.setAutoDefault(False)
        side = QVBoxLayout()
        side.setSpacing(theme.GRID)
        side.addWidget(self.origin)
        side.addWidget(self.plot, 1)
        middle = QHBoxLayout()
        middle.setSpacing(theme.GRID * 2)
        middle.addWidget(scroll)
        middle.addLayout(side, 1)
        below = QHBoxLayout()
        below.setSpacing(theme.GRID)
        below.addWidget(self.import_button)
        below.addWidget(self.export_button)
        below.addStretch(1)
        below.addWidget(self.buttons)
        self.problem.setMinimumHeight(self.fontMetrics().height())
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID)
        column.addLayout(middle, 1)
        column.addWidget(self.problem)
        column.addLayout(below)
        theme.resize(self, 1000, 640)


def by_hand(profile: GlassProfile, base: GlassProfile) -> GlassProfile:
    """With its true origin: a figure that was changed is no longer measured, nor a guess."""
    same = attrs.evolve(profile, name=base.name, note=base.note) == base
    return profile if same else attrs.evolve(profile, origin=BY_HAND, doubt=Doubt())
