"""The Output dialog: which files to write, where; then writing with progress and a way to stop."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QDialog,
    QDialogButtonBox,
    QFileDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QProgressBar,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.jobs import Job
from app.making import Targets, write_plate
from engine.facts import Facts
from engine.flow import Prepared
from shared.errors import RimetypeError
from shared.profile import GlassProfile
from shared.recipe import Recipe

PLATE_FILTER = "PNG (*.png);;TIFF (*.tif);;BMP (*.bmp)"


class OutputDialog(QDialog):
    """Writes the plate of one recipe; `written` gives the plate's path."""

    written = Signal(object)

    def __init__(
        self,
        prepared: Prepared,
        recipe: Recipe,
        profile: GlassProfile,
        facts: Facts,
        size: str,
        folder: Path,
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle("Output plate")
        self.setMinimumWidth(520)
        self._prepared = prepared
        self._recipe = recipe
        self._profile = profile
        self._job: Job | None = None
        stem = Path(prepared.photo.name).stem
        self.path = QLineEdit(str(folder / f"{stem}-plate.png"))
        self.path.setAccessibleName("Plate bitmap file")
        self.path.textChanged.connect(self._path_changed)
        self._browse = QPushButton("Choose...")
        self._browse.clicked.connect(self._choose)
        self.look = QCheckBox("Look, 16-bit PNG seen from the front")
        self.proof = QCheckBox("Proof, PNG of the simulated glass")
        self.report = QCheckBox("Ticket, JSON")
        self.replace = QCheckBox("Replace it")
        self._problem = QLabel()
        self._problem.setWordWrap(True)
        self._problem.setProperty("role", "warning")
        self._problem.hide()
        self._progress = QProgressBar()
        self._progress.setRange(0, 1000)
        self._progress.setAccessibleName("Progress")
        self._progress.hide()
        self.buttons = QDialogButtonBox()
        self.write = QPushButton("Write")
        self.write.setProperty("role", "main")
        self.write.setDefault(True)
        self.write.clicked.connect(self._write)
        self._cancel = self.buttons.addButton(QDialogButtonBox.StandardButton.Cancel)
        self.buttons.addButton(self.write, QDialogButtonBox.ButtonRole.ActionRole)
        self.buttons.rejected.connect(self.reject)
        self._lay_out(facts, size)

    def targets(self) -> Targets:
        """The files as chosen; look, proof and ticket are named after the plate."""
        plate = Path(self.path.text()).expanduser()
        stem = plate.with_suffix("")

        def beside(box: QCheckBox, ending: str) -> Path | None:
            return stem.with_name(stem.name + ending) if box.isChecked() else None

        return Targets(
            plate=plate,
            look=beside(self.look, "-look.png"),
            proof=beside(self.proof, "-proof.png"),
            report=beside(self.report, "-ticket.json"),
            replace=self.replace.isChecked(),
        )

    def reject(self) -> None:
        """Stop the writing, or close."""
        if self._job is not None:
            self._job.stop()
        else:
            super().reject()

    def stop(self) -> None:
        """Stop the writing and wait for its end; the window closes."""
        if self._job is not None:
            self._job.stop()
            self._job.wait()
            self._job_ended()

    def _write(self) -> None:
        targets = self.targets()
        try:
            targets.check(self._prepared.photo.path)
        except RimetypeError as error:
            self._say(str(error))
            return
        prepared, recipe, profile = self._prepared, self._recipe, self._profile

        def work(progress: Callable[[float], None]) -> Path:
            write_plate(prepared, recipe, targets, progress, profile)
            return targets.plate

        self._problem.hide()
        self._progress.setValue(0)
        self._progress.show()
        self._set_busy(True)
        self._job = Job(work, self)
        self._job.progressed.connect(lambda share: self._progress.setValue(round(1000 * share)))
        self._job.succeeded.connect(self._succeeded)
        self._job.failed.connect(self._say)
        self._job.stopped.connect(lambda: self._say("Stopped; nothing was written."))
        self._job.finished.connect(self._job_ended)
        self._job.start()

    def _succeeded(self, path: object) -> None:
        self.written.emit(path)
        self.accept()

    def _job_ended(self) -> None:
        if self._job is not None:
            self._job.deleteLater()
        self._job = None
        self._progress.hide()
        self._set_busy(False)

    def _say(self, sentence: str) -> None:
        self._problem.setText(f"\u26a0 {sentence}")
        self._problem.show()

    def _set_busy(self, busy: bool) -> None:
        for widget in (self.path, self._browse, self.look, self.proof, self.report, self.replace):
            widget.setEnabled(not busy)
        self.write.setEnabled(not busy)
        self._cancel.setText("Stop" if busy else "Cancel")

    def _path_changed(self) -> None:
        self._problem.hide()
        self.replace.setChecked(False)

    def _choose(self) -> None:
        name, _ = QFileDialog.getSaveFileName(self, "Plate bitmap", self.path.text(), PLATE_FILTER)
        if name:
            self.path.setText(name if Path(name).suffix else name + ".png")
            self.replace.setChecked(Path(self.path.text()).exists())

    def _lay_out(self, facts: Facts, size: str) -> None:
        what = QLabel(
            f"{size}, {facts.columns} \u00d7 {facts.rows} pixels, {facts.bits} bit. "
            f"{facts.handling}"
        )
        what.setWordWrap(True)
        line = QHBoxLayout()
        line.setSpacing(theme.GRID)
        line.addWidget(self.path, 1)
        line.addWidget(self._browse)
        form = QFormLayout()
        form.setVerticalSpacing(theme.GRID)
        form.setLabelAlignment(Qt.AlignmentFlag.AlignLeft)
        form.addRow("Plate bitmap", line)
        form.addRow("Also write", self.look)
        form.addRow("", self.proof)
        form.addRow("", self.report)
        form.addRow("If one exists", self.replace)
        column = QVBoxLayout(self)
        column.setContentsMargins(*([theme.GRID * 2] * 4))
        column.setSpacing(theme.GRID * 2)
        column.addWidget(what)
        column.addLayout(form)
        column.addWidget(self._problem)
        column.addWidget(self._progress)
        column.addWidget(self.buttons)
