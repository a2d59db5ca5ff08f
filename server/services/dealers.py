"""The workshop's dealers: kept, and shown to whoever may quote them."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select

from server.store.database import reading, writing
from server.store.ledger import note
from server.store.tables import KeptDealer

from .workshop import Workshop


def keep_all(workshop: Workshop, dealers: list[dict[str, Any]], who: str) -> None:
    """Keeps dealers by number; one already kept is replaced."""
    with writing(workshop.engine) as session:
        for dealer in dealers:
            record = json.dumps(dealer, ensure_ascii=False)
            session.merge(
                KeptDealer(
                    number=dealer["number"],
                    name=dealer["name"],
                    channel=dealer["price_class"],
                    language=dealer["language"],
                    record=record,
                )
            )
        note(session, who, "kept dealers", str(len(dealers)))


def all_dealers(workshop: Workshop) -> list[dict[str, Any]]:
    """Every dealer by number: number, name, price class and language."""
    with reading(workshop.engine) as session:
        rows = session.execute(select(KeptDealer).order_by(KeptDealer.number)).scalars()
        return [
            {"number": row.number, "name": row.name, "channel": row.channel, "language": row.language} for row in rows
        ]
