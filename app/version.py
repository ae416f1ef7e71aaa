"""Which Rimetype this is."""

from pathlib import Path

_PROJECT = Path(__file__).resolve().parent.parent / "pyproject.toml"


def version() -> str:
    """The version, in a checkout by its pyproject.toml and else by the installed copy."""
    if _PROJECT.exists():
        import tomllib

        return str(tomllib.loads(_PROJECT.read_text(encoding="utf-8"))["project"]["version"])
    from importlib import metadata

    return metadata.version("rimetype")
