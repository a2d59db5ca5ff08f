"""The whole described interface under fuzzing: whatever is sent, never a fault of ours, always problem details."""

from __future__ import annotations

from typing import Any

import schemathesis
from flask import Flask
from hypothesis import HealthCheck, given, settings

from .conftest import PAGE, caller

EXAMPLES = 25
LEFT_OUT = ("/session", "/pdf", "/outlines")


def test_nothing_that_is_sent_makes_a_fault_of_ours(app: Flask) -> None:
    signed_in = caller(app, "owner")
    cookie = signed_in.client.get_cookie("tinwright_session")
    assert cookie is not None
    described = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app)
    operations = [found.ok() for found in described.get_all_operations()]
    tried = 0
    for operation in operations:
        if any(part in operation.path for part in LEFT_OUT):
            continue
        tried += 1

        @settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck), database=None)
        @given(case=operation.as_strategy())
        def never_a_fault(case: Any) -> None:
            reply = case.call(headers=dict(PAGE), cookies={"tinwright_session": cookie.value})
            assert reply.status_code < 500, (case.method, case.path, reply.text[:300])
            if reply.status_code >= 400:
                assert reply.headers["content-type"][0] == "application/problem+json", reply.headers

        never_a_fault()
    assert tried >= 10
