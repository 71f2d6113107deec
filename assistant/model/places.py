"""Where things of a user's own are kept, unless an option names another place."""

from pathlib import Path

import platformdirs

RECORD, LOG = "records.sqlite3", "decisions.jsonl"


def data_folder() -> Path:
    """Return the folder that holds them; XDG_DATA_HOME moves it."""
    return platformdirs.user_data_path("whyplan")


def cache_folder() -> Path:
    """Return the folder of what can be made again; XDG_CACHE_HOME moves it."""
    return Path(platformdirs.user_cache_dir("whyplan", appauthor=False))


def drafts_folder() -> Path:
    """Return the folder of intakes that are not finished."""
    return data_folder() / "drafts"


def served_folder(*, alone: bool) -> Path:
    """Return the folder of drafts and the PIN of `serve`. alone: of `serve --self`."""
    return data_folder() / ("self" if alone else "desk")
