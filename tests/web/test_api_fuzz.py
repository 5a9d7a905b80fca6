"""The JSON API under whatever its own schema allows: it may refuse, it may not fall over."""

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from web_room import TEAM_PIN

from whirlbench.actions import sign_in
from whirlbench.store.store import Store
from whirlbench.web.app import app_of
from whirlbench.web.settings import Settings

EXAMPLES = 12  # requests an operation
DESCRIBED = schemathesis.openapi.from_dict(app_of(Settings()).openapi())
OPERATIONS = [found.ok() for found in DESCRIBED.get_all_operations()]
ASKED = [(one, own) for one in OPERATIONS for own in (True, False) if "{team}" in one.path or not own]


@pytest.fixture(scope="module")
def secret(server):
    """Secret of somebody of the first team, as a logger sends it."""
    with Store(server.place) as store:
        return sign_in.as_team(store, 1, TEAM_PIN, name="logger")


def test_the_api_describes_itself():
    assert len(OPERATIONS) >= 8
    assert all(operation.path.startswith("/api/") for operation in OPERATIONS)


@pytest.mark.parametrize(("operation", "own_team"), ASKED, ids=[f"{one.label} {own}" for one, own in ASKED])
def test_no_request_brings_the_server_down(operation, own_team, server, secret):
    @settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy())
    def sent(case):
        if own_team:
            case.path_parameters["team"] = 1
        answer = case.call(base_url=server.address, headers={"authorization": f"Bearer {secret}"}, timeout=90)
        assert answer.status_code < 500 or answer.status_code == 503, f"{case.as_curl_command()}\n{answer.text}"

    sent()
