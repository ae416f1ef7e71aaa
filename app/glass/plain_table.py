"""How tables of the glass look and how Tab passes them."""

from PySide6.QtWidgets import QTableWidget

from app import theme

_STYLE = f"""
    QTableWidget {{
        background: {theme.PANE}; border: 1px solid {theme.EDGE}; border-radius: 3px;
        gridline-color: {theme.LINE};
    }}
    QTableWidget:focus {{ border-color: {theme.ACCENT}; }}
    QTableWidget::item {{ padding: 0 6px; }}
    QTableWidget::item:selected {{ background: {theme.RAISED}; color: {theme.TEXT}; }}
    QTableWidget::item:focus {{ border: 2px solid {theme.ACCENT}; }}
    QTableWidget QLineEdit {{ border: none; border-radius: 0; min-height: 0; padding: 0 4px; }}
    QHeaderView, QTableCornerButton::section {{ background: {theme.PANEL}; }}
    QHeaderView::section {{
        background: {theme.PANEL}; color: {theme.QUIET}; border: none;
        border-bottom: 1px solid {theme.LINE}; padding: 3px 6px;
    }}
"""


def plain(table: QTableWidget) -> None:
    """Flat, in the colours of the window; Tab leaves the table, arrows walk through it."""
    table.setStyleSheet(_STYLE)
    table.verticalHeader().hide()
    table.setTabKeyNavigation(False)
    table.horizontalHeader().setHighlightSections(False)
