"""Stands in front of Qt, so that nothing can import it."""

raise ModuleNotFoundError("Qt is kept out of this run", name=__name__)
