"""Puts the parts together: a Flask application over an open workshop."""

from __future__ import annotations

from http import HTTPStatus

from flask import Flask, Response
from flask_smorest import Api

from server.api.page import page
from server.api.problems import KIND, ProblemReply, handle_problems
from server.api.received import refuse_unreadable
from server.api.roles import ANYBODY, is_secure, refuse_foreign_changes, role, undeclared
from server.api.views import api
from server.services.catalogue import Catalogues
from server.services.workshop import Workshop

MOST_BYTES = 1_000_000
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; "
    "require-trusted-types-for 'script'; trusted-types tinwright"
)


class Described(Api):  # type: ignore[misc]
    """The described interface; errors are the application's own problem details."""

    def _register_responses(self) -> None:
        """Describes every refusal as the problem details that it is."""
        for name in ("DEFAULT_ERROR", *(status.name for status in HTTPStatus)):
            content = {KIND: {"schema": ProblemReply}}
            self.spec.components.response(name, {"description": "problem details", "content": content}, lazy=True)

    def _register_error_handlers(self) -> None:
        """Leaves errors to `handle_problems`."""

    @role(ANYBODY)
    def _openapi_json(self) -> Response:
        described: Response = super()._openapi_json()
        return described


def create_app(workshop: Workshop) -> Flask:
    """The application over one open workshop.

    Raises: LookupError for a view that does not say whom it is for.
    """
    app = Flask(__name__, static_folder=None)
    app.config.update(
        API_TITLE="Tinwright",
        API_VERSION="v1",
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api/v1",
        OPENAPI_JSON_PATH="openapi.json",
        MAX_CONTENT_LENGTH=MOST_BYTES,
        PROPAGATE_EXCEPTIONS=False,
    )
    app.json.ensure_ascii = False  # type: ignore[attr-defined]
    app.extensions["workshop"] = workshop
    app.extensions["catalogues"] = Catalogues(workshop)
    app.before_request(refuse_foreign_changes)
    app.before_request(refuse_unreadable)
    app.after_request(lambda reply: _guarded(reply, workshop))
    Described(app).register_blueprint(api)
    app.register_blueprint(page)
    handle_problems(app)
    if without := undeclared(app):
        raise LookupError(f"these say no role: {', '.join(without)}")
    return app


def _guarded(reply: Response, workshop: Workshop) -> Response:
    """Every reply says what it may be used for, and which database it comes from."""
    headers = reply.headers
    headers["Content-Security-Policy"] = POLICY
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "no-referrer"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Tinwright-Incarnation"] = workshop.incarnation
    if is_secure():
        headers["Strict-Transport-Security"] = "max-age=31536000"
    headers.setdefault("Cache-Control", "no-store")
    return reply
