"""`python -m server serve`: the workshop's server, with the demo workshop where asked for."""

from __future__ import annotations

import argparse
import datetime
import os

from flask import Flask
from granian import Granian
from granian.constants import Interfaces

from .application import create_app
from .config import DATABASE, settings
from .services import demo
from .services.workshop import open_workshop

DEMO = "TINWRIGHT_DEMO"
THREADS = 4


def application() -> Flask:
    """The application on the settings of the environment; a demo fills an empty database first.

    Raises: PricingError for a database that is not for this purpose.
    """
    is_demo = os.environ.get(DEMO) == "1"
    opened = open_workshop(settings(demo=is_demo))
    demo.check_purpose(opened, is_demo)
    if is_demo:
        demo.fill(opened, datetime.datetime.now(datetime.UTC).date())
    return create_app(opened)


def run(options: argparse.Namespace) -> None:
    """Serves until stopped. The demo's accounts are printed; it never touches a database that has people.

    Raises: PricingError for a database that is not for this purpose.
    """
    if options.database:
        os.environ[DATABASE] = options.database
    if options.demo:
        os.environ[DEMO] = "1"
    # Made once here, so that the worker finds the database ready and a fault shows before anything listens.
    application()
    if options.demo:
        print("Marlpit Row Pewterers, the demo workshop. Sign in as:")
        for person in demo.demo_people():
            print(f"  {person['name']:<8} password: {person['password']}")
    print(f"Ready at http://{options.host}:{options.port}", flush=True)
    Granian(
        "server.serve_command:application",
        address=options.host,
        port=options.port,
        interface=Interfaces.WSGI,
        factory=True,
        workers=1,
        blocking_threads=THREADS,
        log_access=False,
    ).serve()
