"""Settings, each from the environment with a safe default."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
DATABASE = "TINWRIGHT_DATABASE_URL"
DEMO_DATABASE = "sqlite:///var/demo.db"
OWN_DATABASE = "sqlite:///var/tinwright.db"


@dataclass(frozen=True, slots=True)
class Settings:
    """What the server runs on: its database, where the built page lies, and what the counter may see."""

    database_url: str
    page: Path
    secure_cookie: bool = False
    counter_sees_dealers: bool = False


def settings(database_url: str | None = None, demo: bool = False) -> Settings:
    """The settings of this process; an address given by hand comes before the environment."""
    url = database_url or os.environ.get(DATABASE) or (DEMO_DATABASE if demo else OWN_DATABASE)
    return Settings(
        database_url=url,
        page=Path(os.environ.get("TINWRIGHT_PAGE", ROOT / "pwa" / "dist")),
        secure_cookie=os.environ.get("TINWRIGHT_HTTPS") == "1",
        counter_sees_dealers=os.environ.get("TINWRIGHT_COUNTER_SEES_DEALERS") == "1",
    )
