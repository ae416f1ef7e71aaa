"""Where Rimetype keeps what belongs to the person. RIMETYPE_HOME moves everything, as tests do."""

import os
from pathlib import Path

import platformdirs


def config_folder() -> Path:
    """Where preferences live."""
    home = os.environ.get("RIMETYPE_HOME")
    return Path(home) / "config" if home else Path(platformdirs.user_config_path("rimetype"))


def data_folder() -> Path:
    """Where unsaved work and pasted pictures are kept."""
    home = os.environ.get("RIMETYPE_HOME")
    return Path(home) / "data" if home else Path(platformdirs.user_data_path("rimetype"))
