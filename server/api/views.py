"""The interface at /api/v1: sign-in, catalogue, pieces, price lists, quotes."""

from __future__ import annotations

import datetime
from typing import Any

from flask import Response, current_app, request
from flask.typing import ResponseReturnValue
from flask_smorest import Blueprint

from server.services import catalogue, costs, dealers, price_lists, quoting, signing_in

from . import schemas
from .problems import Problem
from .roles import ANYBODY, asker, role, session_cookie, workshop

api = Blueprint("api", __name__, url_prefix="/api/v1", description="Tinwright")
PDF = "application/pdf"
MOST_SECONDS = 14 * 24 * 3600


def today() -> datetime.date:
    """The day by the server's clock."""
    return datetime.datetime.now(datetime.UTC).date()


def catalogues() -> catalogue.Catalogues:
    """The catalogues kept by this application."""
    held: catalogue.Catalogues = current_app.extensions["catalogues"]
    return held


def _unchanged(tag: str) -> bool:
    return request.if_none_match.contains(tag)


def _kept_reply(kept: catalogue.Kept) -> Response:
    """A reply made once, in the form the asker takes; nothing where it already has it."""
    if _unchanged(kept.tag):
        reply = Response(status=304)
    elif "br" in request.accept_encodings:
        reply = Response(kept.brotli, content_type="application/json", headers={"Content-Encoding": "br"})
    elif "gzip" in request.accept_encodings:
        reply = Response(kept.gzip, content_type="application/json", headers={"Content-Encoding": "gzip"})
    else:
        reply = Response(kept.body, content_type="application/json")
    reply.set_etag(kept.tag)
    reply.headers["Cache-Control"] = "private, no-cache"
    reply.headers["Vary"] = "Accept-Encoding, Cookie"
    return reply


def _pdf(pdf: bytes, name: str) -> Response:
    reply = Response(pdf, content_type=PDF)
    reply.headers["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    reply.headers["Cache-Control"] = "private, no-cache"
    reply.add_etag()
    return reply.make_conditional(request)


# Signing in


@api.post("/session")
@api.arguments(schemas.SignIn)
@api.response(200, schemas.WhoReply)
@role(ANYBODY)
def sign_in(given: dict[str, str]) -> ResponseReturnValue:
    """Signs in: a new session, known by a cookie that scripts cannot read."""
    session_cookie("", 0)
    token, who = signing_in.sign_in(
        workshop(), given["name"], given["password"], request.remote_addr or "", given["device"]
    )
    headers = {"Set-Cookie": session_cookie(token, MOST_SECONDS)}
    return {"name": who.name, "role": who.role, "language": who.language}, 200, headers


@api.get("/session")
@api.response(200, schemas.WhoReply)
@role("counter")
def who_am_i() -> ResponseReturnValue:
    """Who is signed in."""
    who = asker()
    return {"name": who.name, "role": who.role, "language": who.language}


@api.delete("/session")
@api.response(204)
@role("counter")
def sign_out() -> ResponseReturnValue:
    """Ends this session."""
    signing_in.sign_out(workshop(), asker())
    return "", 204, {"Set-Cookie": session_cookie("", 0)}


@api.get("/sessions")
@api.response(200, schemas.SessionReply(many=True))
@role("counter")
def open_sessions() -> ResponseReturnValue:
    """One's own open sessions."""
    return signing_in.own_sessions(workshop(), asker())


@api.delete("/sessions/<string:session_id>")
@api.response(204)
@role("counter")
def end_session(session_id: str) -> ResponseReturnValue:
    """Ends one of one's own sessions."""
    if not signing_in.end_own_session(workshop(), asker(), session_id):
        raise Problem(404, "not-found", "There is no such session of yours.")
    return ""


# Catalogue and pieces


@api.get("/catalogue")
@api.response(200)
@role("counter")
def whole_catalogue() -> ResponseReturnValue:
    """The list in force and the next one issued, in columns, as the asker's role may see them."""
    return _kept_reply(catalogues().whole(asker().role, today()))


@api.get("/catalogue/prices")
@api.response(200)
@role("counter")
def catalogue_prices() -> ResponseReturnValue:
    """Prices alone, for a device whose pieces are still the same."""
    return _kept_reply(catalogues().prices(asker().role, today()))


@api.get("/outlines")
@api.response(200)
@role("counter")
def outlines() -> ResponseReturnValue:
    """The drawing of every piece, as view box and paths."""
    return _kept_reply(catalogues().drawings())


@api.get("/pieces/<string:number>/outline.svg")
@api.response(200, content_type="image/svg+xml")
@role("counter")
def outline(number: str) -> ResponseReturnValue:
    """The drawing of one piece."""
    drawn = workshop().drawings().get(number)
    if drawn is None:
        raise Problem(404, "not-found", "There is no such piece.")
    return Response(drawn.svg(), content_type="image/svg+xml", headers={"Cache-Control": "private, max-age=3600"})


@api.get("/pieces/<string:number>")
@api.response(200)
@role("counter")
def piece(number: str) -> ResponseReturnValue:
    """A piece of the list in force with its price in each finish, as the asker's role may see it."""
    for price_list in catalogues().lists(asker().role, today())[:1]:
        found = catalogue.piece_data(price_list, number)
        if found is not None:
            return found
    raise Problem(404, "not-found", "There is no such piece in the list in force.")


@api.get("/pieces")
@api.response(200)
@role("pricing")
def pieces() -> ResponseReturnValue:
    """Every piece and finish with works cost, prices and margins."""
    return {"pieces": costs.pieces(workshop())}


@api.get("/pieces/<string:number>/cost-sheet")
@api.arguments(schemas.SheetOptions, location="query")
@api.response(200)
@role("pricing")
def cost_sheet(options: dict[str, Any], number: str) -> ResponseReturnValue:
    """The cost sheet of a piece in a finish, and its prices with their reasons."""
    return costs.cost_sheet(workshop(), number, options["finish"], options["channel"])


@api.get("/dealers")
@api.response(200, schemas.DealerReply(many=True))
@role("counter")
def all_dealers() -> ResponseReturnValue:
    """The workshop's dealers, for whoever may quote them."""
    if not catalogue.sees_channel(workshop(), asker().role, "dealer"):
        raise Problem(403, "not-allowed", "Dealers are shown to the counter only where the house says so.")
    return dealers.all_dealers(workshop())


# Price lists


def _with_tag(facts: price_lists.ListFacts) -> Any:
    return facts, {"ETag": f'"{facts.digest[:24]}-{facts.status}"'}


@api.post("/price-lists")
@api.arguments(schemas.NewList)
@api.response(201, schemas.ListReply)
@role("pricing")
def make_list(given: dict[str, Any]) -> ResponseReturnValue:
    """Makes a draft list from the current book."""
    facts = price_lists.make_draft(workshop(), given["number"], given["effective"], given["until"], asker().name)
    body, headers = _with_tag(facts)
    return body, 201, headers


@api.get("/price-lists")
@api.response(200, schemas.ListReply(many=True))
@role("pricing")
def lists() -> ResponseReturnValue:
    """Every list, the newest first."""
    return price_lists.all_lists(workshop())


@api.get("/price-lists/<string:list_id>")
@api.response(200, schemas.ListReply)
@role("pricing")
def one_list(list_id: str) -> ResponseReturnValue:
    """One list, with its entity tag."""
    body, headers = _with_tag(price_lists.one(workshop(), list_id))
    return body, 200, headers


@api.post("/price-lists/<string:list_id>/issue")
@api.response(200, schemas.ListReply)
@role("owner")
def issue_list(list_id: str) -> ResponseReturnValue:
    """Issues a draft for ever; If-Match says which draft was seen."""
    if not request.headers.get("If-Match"):
        raise Problem(428, "which-version", "Say with If-Match which draft you saw.")
    facts = price_lists.one(workshop(), list_id)
    if not request.if_match.contains(f"{facts.digest[:24]}-{facts.status}"):
        raise Problem(412, "changed", "This list has changed since you saw it.")
    body, headers = _with_tag(price_lists.issue(workshop(), list_id, facts.digest, asker().name))
    return body, 200, headers


@api.get("/price-lists/<string:list_id>/pdf")
@api.arguments(schemas.PaperOptions, location="query")
@api.response(200, content_type=PDF)
@role("pricing")
def list_pdf(options: dict[str, str], list_id: str) -> ResponseReturnValue:
    """The list as a PDF for a channel, in a language; made once and kept."""
    facts = price_lists.one(workshop(), list_id)
    pdf = price_lists.paper(workshop(), list_id, options["channel"], options["language"])
    channel = "-".join(options["channel"].lower().split())
    return _pdf(pdf, f"price-list-{'-'.join(facts.number.split())}-{channel}-{options['language']}")


# Quotes


@api.put("/quotes/<string:revision>")
@api.arguments(schemas.SentQuote)
@api.response(200, schemas.QuoteReply)
@api.alt_response(201, schema=schemas.QuoteReply)
@role("counter")
def put_quote(sent: dict[str, Any], revision: str) -> ResponseReturnValue:
    """Takes in one revision of a quote under the id its device gave it; the same again answers as before."""
    schemas.UUID(revision)
    settled = quoting.settle(workshop(), asker(), revision, sent)
    return settled, 200 if settled.replay else 201


@api.get("/quotes")
@api.arguments(schemas.After, location="query")
@api.response(200, schemas.ChangesReply)
@role("counter")
def quotes(options: dict[str, str]) -> ResponseReturnValue:
    """Quotes changed after a place in the server's order, with the place to go on from."""
    found, cursor, more = quoting.changes(workshop(), asker(), options["after"])
    return {"quotes": found, "next": cursor, "more": more}


@api.get("/quotes/<string:quote>")
@api.response(200, schemas.QuoteReply)
@role("counter")
def one_quote(quote: str) -> ResponseReturnValue:
    """The newest revision of a quote."""
    return quoting.one(workshop(), asker(), quote)


@api.get("/quotes/<string:quote>/pdf")
@api.arguments(schemas.QuotePaperOptions, location="query")
@api.response(200, content_type=PDF)
@role("counter")
def quote_pdf(options: dict[str, str], quote: str) -> ResponseReturnValue:
    """The quote as a PDF, made once for each revision and language."""
    settled = quoting.one(workshop(), asker(), quote)
    return _pdf(quoting.paper(workshop(), asker(), quote, options["language"]), f"quote-{settled.number}")
