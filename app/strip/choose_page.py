"""Step 5: the settings ranked, with reasons; the curve of the one that is taken; the profile."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QListWidget,
    QListWidgetItem,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from app import theme
from app.glass.curve_plot import CurvePlot
from app.qimage import image_from_array
from app.strip.parts import Sentence, caption, heading, keep_focus, push, side_by_side
from app.strip.progress_row import ProgressRow
from app.strip.verdict_row import ROW_HEIGHT, VerdictDelegate, VerdictText
from app.strip.words import counted, setting_words
from app.strip.work import StripWork
from engine.strip.cells import cell_picture
from engine.strip.fit import Fit
from engine.strip.judge import AS_GOOD_L, Judgement, Verdict
from shared.profile import GlassProfile
from shared.units import percent

NOTHING = "Read a photo of the strip first, or type in what its patches show."
_RUN = Qt.ItemDataRole.UserRole


class ChoosePage(QWidget):
    """`taken(profile)` for the session, `save_wanted(profile)` for a file."""

    taken = Signal(object)
    save_wanted = Signal(object)

    def __init__(self, work: StripWork, earlier: GlassProfile) -> None:
        super().__init__()
        self._work = work
        self._earlier = earlier
        self._filling = False
        self.list = QListWidget()
        self.list.setAccessibleName("Settings, the best first")
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.setItemDelegate(VerdictDelegate(self.list))
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setStyleSheet(
            f"QListWidget {{ background: {theme.PANE}; border: 1px solid {theme.EDGE}; "
            f"border-radius: 3px; }} QListWidget:focus {{ border-color: {theme.ACCENT}; }}"
        )
        self.list.currentItemChanged.connect(self._picked)
        self.state = Sentence()
        self.warnings = Sentence()
        self.facts = caption()
        self.plot = CurvePlot()
        room = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        room.setRetainSizeWhenHidden(True)
        self.plot.setSizePolicy(room)
        self.progress = ProgressRow("Ranking the settings", work.stop_ranking)
        self.once_more = push("Rank again", work.rank_again)
        self.recommended = push("Take the recommended one", lambda: work.choose(None))
        self.refine = QCheckBox("Refine the present profile")
        self.refine.setToolTip(
            "Let what was measured before count beside this strip; for the same machine and glass"
        )
        self.refine.setVisible(earlier.origin == "measured")
        self.refine.setChecked(work.earlier is not None)
        self.refine.toggled.connect(lambda on: work.refine(self._earlier if on else None))
        self.use = push("Use this profile", self._use, main=True)
        self.save = push("Save profile...", self._save)
        self._lay_out()
        work.judgement_changed.connect(self.follow)
        work.judge_progressed.connect(self.progress.show_share)
        self.follow()

    def follow(self) -> None:
        """Show the ranking, or why there is none."""
        work = self._work
        held = self.progress.stop.hasFocus() or self.once_more.hasFocus()
        self.progress.show_busy(work.is_judging)
        self._fill()
        of_strip = () if work.judgement is None else work.judgement.warnings
        of_photo = () if work.reading is None else work.reading.warnings
        self.warnings.warn_of((*of_strip, *of_photo))
        profile = work.profile
        verdict = next((v for v in self._verdicts() if v.run == work.chosen), None)
        lost = verdict is None and bool(work.judge_problem) and bool(work.entries)
        self.once_more.setVisible(lost)
        self.once_more.setEnabled(not work.is_judging)
        if held:
            keep_focus(self.progress.stop, self.once_more, self.list)
        for button in (self.use, self.save):
            button.setEnabled(profile is not None and not work.is_judging)
        self.recommended.setEnabled(verdict is not None and work.chosen != work.best)
        self.plot.setVisible(verdict is not None)
        if verdict is None:
            self.facts.clear()
            if work.is_judging:
                self.state.tell("Ranking the settings\u2026")
            elif work.judge_problem and work.entries:
                self.state.warn(work.judge_problem)
            else:
                self.state.tell(NOTHING)
            return
        self.plot.show_profile(profile or verdict.fit.profile)
        self.facts.setText(facts(verdict.fit))
        if work.chosen == work.best:
            self.state.tell(recommendation(work.judgement))
        else:
            self.state.tell("Chosen by eye, against the recommendation.")

    def _verdicts(self) -> tuple[Verdict, ...]:
        judgement = self._work.judgement
        return judgement.verdicts if judgement is not None else ()

    def _fill(self) -> None:
        work, strip = self._work, self._work.strip
        self._filling = True
        self.list.clear()
        for place, verdict in enumerate(self._verdicts()):
            assert strip is not None
            text = VerdictText(
                setting=setting_words(strip.runs[verdict.run]),
                reason=verdict.reason,
                figures=_figures(verdict),
                best=place == 0,
                chosen=verdict.run == work.chosen,
            )
            item = QListWidgetItem()
            item.setData(_RUN, verdict.run)
            item.setData(Qt.ItemDataRole.DisplayRole, text.in_words)
            item.setData(VerdictDelegate.TEXT, text)
            item.setData(VerdictDelegate.PICTURE, self._cell(verdict.run))
            if not verdict.marks:
                item.setFlags(Qt.ItemFlag.NoItemFlags)
            self.list.addItem(item)
            if text.chosen:
                self.list.setCurrentItem(item)
        self._filling = False

    def _cell(self, run: int) -> QImage | None:
        """What the photo shows of a setting's cell."""
        strip, reading = self._work.strip, self._work.reading
        if strip is None or reading is None:
            return None
        place = next((n for n, cell in enumerate(strip.cells) if cell.run == run), None)
        if place is None:
            return None
        return image_from_array(cell_picture(reading.cells[place], reading.bare_over_solid))

    def _picked(self, item: QListWidgetItem | None) -> None:
        if self._filling or item is None:
            return
        run = int(item.data(_RUN))
        if run != self._work.chosen:
            self._work.choose(None if run == self._work.best else run)

    def _use(self) -> None:
        if self._work.profile is not None:
            self.taken.emit(self._work.profile)

    def _save(self) -> None:
        if self._work.profile is not None:
            self.save_wanted.emit(self._work.profile)

    def _lay_out(self) -> None:
        left = QVBoxLayout()
        left.setSpacing(theme.GRID)
        left.addWidget(heading("Settings, the best first"))
        left.addWidget(self.list, 1)
        left.addLayout(side_by_side(self.recommended, self.once_more))
        right = QVBoxLayout()
        right.setSpacing(theme.GRID)
        right.addWidget(heading("What the glass does with the chosen setting"))
        right.addWidget(self.plot, 1)
        right.addWidget(self.facts)
        right.addWidget(self.refine)
        right.addLayout(side_by_side(self.use, self.save))
        row = QHBoxLayout()
        row.setSpacing(theme.GRID * 2)
        row.addLayout(left, 1)
        row.addLayout(right, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(theme.GRID)
        column.addLayout(row, 1)
        column.addWidget(self.warnings)
        column.addWidget(self.state)
        column.addWidget(self.progress)
        self.list.setMinimumHeight(ROW_HEIGHT)


def _figures(verdict: Verdict) -> str:
    if not verdict.marks:
        return "cannot be chosen"
    words = [f"error about {verdict.error:.1f} L*"]
    if verdict.cell is not None:
        words.append(f"{verdict.cell.tones} of {verdict.cell.tones_wanted} tones")
        words.append(f"{percent(min(1.0, verdict.cell.detail))} of the detail")
    return ", ".join(words)


def facts(fit: Fit) -> str:
    """What the strip taught of the setting, and how surely."""
    words = [f"Tones known to about {percent(fit.curve_error, 1)} of the range."]
    if fit.spread is not None:
        words.append(f"Spread {_give_or_take(fit.spread.spread_mm, fit.spread.error_mm)} mm.")
    power = fit.power
    if power.reciprocity:
        words.append(f"Reciprocity {_give_or_take(power.reciprocity, power.reciprocity_error)}.")
    if power.flakes:
        words.append(f"Frost flakes off beyond {power.flaking_j_mm2:.2g} J/mm\u00b2.")
    else:
        words.append("No frost flaked off; flaking in the picture is a starting guess.")
    if fit.bad:
        patches = counted(len(fit.bad), "patch", "patches")
        count = "counts" if len(fit.bad) == 1 else "count"
        words.append(f"{patches} disagreed with the rest and {count} little.")
    return " ".join(words)


def _give_or_take(value: float, error: float) -> str:
    """Both on one line."""
    return f"{value:.2f}\u00a0\u00b1\u00a0{error:.2f}"


def recommendation(judgement: Judgement | None) -> str:
    """What is said of the recommended setting while it is the chosen one."""
    others = 0 if judgement is None else judgement.as_good
    if not others:
        return "The recommended setting is chosen; your eye may overrule it."
    which = "the next is" if others == 1 else f"the next {others} are"
    return (
        f"The recommended setting is chosen; {which} as good as far as can be told (within "
        f"{AS_GOOD_L:g} L*), and your eye may overrule it."
    )
