"""One row of the ranking: the cell's picture, the setting, the reason."""

import attrs
from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QPainter, QPen
from PySide6.QtWidgets import QStyle, QStyledItemDelegate, QStyleOptionViewItem

from app import theme

ROW_HEIGHT = 104
_PICTURE = 76
_ROOM = 14
_BESIDE = _ROOM + _PICTURE


@attrs.frozen
class VerdictText:
    """What a row says."""

    setting: str
    reason: str
    figures: str
    best: bool
    chosen: bool

    @property
    def marks(self) -> str:
        """Whether it is recommended or chosen, in words."""
        words = [word for word, on in (("recommended", self.best), ("chosen", self.chosen)) if on]
        return ", ".join(words)

    @property
    def in_words(self) -> str:
        """All of it, for whoever cannot see it."""
        marks = f" ({self.marks})" if self.marks else ""
        return f"{self.setting}{marks}. {self.reason} {self.figures}."


class VerdictDelegate(QStyledItemDelegate):
    """Paints the rows."""

    TEXT = Qt.ItemDataRole.UserRole + 1
    PICTURE = Qt.ItemDataRole.UserRole + 2

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """All rows are alike."""
        del option, index
        return QSize(240, ROW_HEIGHT)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Picture left, words right; the chosen row has a frame and a word, which stands before
        the figures where the first line has no room for it."""
        text = index.data(self.TEXT)
        if not isinstance(text, VerdictText):
            return
        row = QRectF(option.rect)
        painter.save()
        painter.setClipRect(row)
        if text.chosen:
            painter.fillRect(row, QColor(theme.RAISED))
            painter.fillRect(QRectF(row.left(), row.top(), 4, row.height()), QColor(theme.ACCENT))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        image = index.data(self.PICTURE)
        space = QRectF(
            row.left() + _ROOM, row.top() + (ROW_HEIGHT - _PICTURE) / 2, _PICTURE, _PICTURE
        )
        seen = isinstance(image, QImage)
        if seen:
            size = image.size().scaled(space.size().toSize(), Qt.AspectRatioMode.KeepAspectRatio)
            place = QRectF(0, 0, size.width(), size.height())
            place.moveCenter(space.center())
            painter.drawImage(place, image)
        self._paint_words(painter, option.font, text, row.adjusted(_BESIDE if seen else 0, 0, 0, 0))
        painter.setPen(QPen(QColor(theme.LINE), 1))
        painter.drawLine(row.bottomLeft(), row.bottomRight())
        state = option.state
        if state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(QColor(theme.ACCENT), 2))
            painter.drawRect(row.adjusted(1, 1, -1, -2))
        painter.restore()

    def _paint_words(self, painter: QPainter, font: QFont, text: VerdictText, row: QRectF) -> None:
        left, width = row.left() + _ROOM, row.width() - 2 * _ROOM
        bold = QFont(font)
        bold.setBold(True)
        wrap = Qt.TextFlag.TextWordWrap
        painter.setFont(bold)
        painter.setPen(QColor(theme.TEXT))
        painter.drawText(QRectF(left, row.top() + 8, width, 20), 0, text.setting)
        beside = QFontMetrics(bold).horizontalAdvance(text.setting) + _ROOM
        small = theme.caption_font()
        marks = QFontMetrics(small).horizontalAdvance(text.marks) if text.marks else 0
        fits = beside + marks <= width
        painter.setFont(small)
        painter.setPen(QColor(theme.ACCENT))
        top, at = (row.top() + 9, beside) if fits else (row.bottom() - 21, 0)
        painter.drawText(QRectF(left + at, top, width - at, 18), 0, text.marks)
        painter.setFont(font)
        painter.setPen(QColor(theme.TEXT))
        painter.drawText(QRectF(left, row.top() + 29, width, 54), wrap, text.reason)
        painter.setFont(small)
        painter.setPen(QColor(theme.QUIET))
        before = 0 if fits else marks + _ROOM // 2
        figures = QFontMetrics(small).elidedText(
            text.figures, Qt.TextElideMode.ElideRight, int(width) - before
        )
        left, width = left + before, width - before
        painter.drawText(QRectF(left, row.bottom() - 21, width, 18), 0, figures)
