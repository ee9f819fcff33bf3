"""Whatever the published description allows, and much that it does not, gets a documented answer and never a fault of ours."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from loamery.web.api.routes import api
from loamery.web.people.models import Token, digest
from loamery.web.people.roles import Role
from loamery.web.records.models import KINDS
from loamery.web.wsgi import application
from tests.web.conftest import World

EXAMPLES = 1 if os.environ.get("LOAMERY_TEST_DATABASE") else 2
"""Of each of the operations there are, the same ones each time; fewer where the other database is asked the same again."""

schema = schemathesis.openapi.from_dict(api.get_openapi_schema())
schema.app = application
CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]


@pytest.fixture
def secret(world: World) -> Iterator[str]:
    """Give a token; the connection with what this test does stays open between requests, as in Django's own test client."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    Token.objects.create(
        person=world.people["owner"], garden=world.ours, name="x", role=Role.OWNER, digest=digest("fuzz")
    )
    yield "fuzz"
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@schema.parametrize()
@settings(
    max_examples=EXAMPLES, derandomize=True, database=None, deadline=None, phases=[Phase.explicit, Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.filter_too_much],
)  # fmt: skip
def test_any_request(case: schemathesis.Case, secret: str) -> None:
    case.path_parameters = {**(case.path_parameters or {}), "slug": "ours"}
    case.call_and_validate(headers={"Authorization": f"Bearer {secret}", "Host": "localhost"}, checks=CHECKS)


def test_every_operation_is_tried() -> None:
    """Count the operations by hand: six for each kind of record, and those of the whole garden."""
    paths = api.get_openapi_schema()["paths"]
    assert len(list(schema.get_all_operations())) == sum(len(one) for one in paths.values()) == 6 * len(KINDS) + 4
