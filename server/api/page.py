"""The built page: its files with their compressed twins, and index.html for every address of its own."""

from __future__ import annotations

from pathlib import Path

from flask import Blueprint, Response, request, send_from_directory

from server.services.workshop import is_ready

from .problems import Problem
from .roles import ANYBODY, role, workshop

page = Blueprint("page", __name__)
FOREVER = "public, max-age=31536000, immutable"
KINDS = {
    ".html": "text/html; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml", ".png": "image/png", ".webmanifest": "application/manifest+json", ".json": "application/json",
}  # fmt: skip


def _file(name: str) -> Response:
    folder = workshop().settings.page.resolve()
    packed = (folder / f"{name}.br").is_file() and "br" in request.accept_encodings
    reply = send_from_directory(folder, f"{name}.br" if packed else name, etag=True, conditional=True)
    reply.headers["Content-Type"] = KINDS.get(Path(name).suffix, "application/octet-stream")
    if packed:
        reply.headers["Content-Encoding"] = "br"
    reply.headers["Vary"] = "Accept-Encoding"
    reply.headers["Cache-Control"] = FOREVER if name.startswith("assets/") else "no-cache"
    return reply


@page.get("/healthz")
@role(ANYBODY)
def healthy() -> Response:
    """Whether the process answers."""
    return Response("ok\n", content_type="text/plain")


@page.get("/readyz")
@role(ANYBODY)
def ready() -> Response:
    """Whether the database answers and its tables are up to date."""
    if not is_ready(workshop()):
        raise Problem(503, "not-ready", "The database is not up to date.")
    return Response("ready\n", content_type="text/plain", headers={"Tinwright-Incarnation": workshop().incarnation})


def _is_held(path: str) -> bool:
    """Whether the page has a file at a path; a path that no file can have is one it lacks."""
    folder = workshop().settings.page.resolve()
    try:
        wanted = (folder / path).resolve()
        return wanted.is_relative_to(folder) and wanted.is_file()
    except (OSError, ValueError):
        return False


# No `defaults` here: with them Flask answers /index.html by a redirect, and the page's worker is never installed.
@page.get("/")
@role(ANYBODY)
def first_page() -> Response:
    """The page."""
    return own_page("index.html")


@page.get("/<path:path>")
@role(ANYBODY)
def own_page(path: str) -> Response:
    """A file of the page, or index.html for an address of the page's own."""
    if path == "api" or path.startswith("api/"):
        raise Problem(404, "not-found", "There is nothing at this address.")
    folder = workshop().settings.page.resolve()
    if _is_held(path):
        return _file(path)
    if Path(path).suffix:
        raise Problem(404, "not-found", "There is no such file.")
    if not (folder / "index.html").is_file():
        raise Problem(404, "no-page", "The page has not been built.")
    return _file("index.html")
