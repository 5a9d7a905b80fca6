"""A room to test the page with, and browsers in it."""

import os
import shutil

import pytest
from starlette.testclient import TestClient
from web_room import CHROMIUM_FLAGS, COACH_PIN, HOST, PATIENCE, Browser, Server, furnish, of_team

from whirlbench.store.store import Store
from whirlbench.web.app import app_of
from whirlbench.web.settings import Settings


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    """Application of a furnished room; its workers run."""
    place = tmp_path_factory.mktemp("room") / "room.db"
    with Store(place) as store:
        furnish(store)
    app = app_of(Settings(store=place, hosts=(HOST,), pace=1e6))
    with TestClient(app, base_url=f"http://{HOST}"):
        yield app


@pytest.fixture
def nobody(app):
    """Browser of somebody who is not signed in."""
    app.state.patience.right("coach from testclient")
    return Browser(app)


@pytest.fixture
def coach(app):
    """Browser of the coach."""
    browser = Browser(app)
    assert browser.post("/coach", data={"pin": COACH_PIN}, follow_redirects=False).status_code == 303
    return browser


@pytest.fixture
def team(app):
    """Browser of somebody of the first team, whose number is 1."""
    return of_team(app, 1)


@pytest.fixture
def other(app):
    """Browser of somebody of the second team, whose number is 2."""
    return of_team(app, 2)


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    """Server of a furnished room."""
    place = tmp_path_factory.mktemp("served") / "room.db"
    with Store(place) as store:
        furnish(store)
    served = Server(place).start()
    yield served
    served.kill()


@pytest.fixture(scope="session")
def chromium():
    """One real browser for all tests; each test opens pages of its own in it."""
    sync_api = pytest.importorskip("playwright.sync_api")
    found = os.environ.get("WHIRLBENCH_CHROMIUM") or next(
        filter(None, map(shutil.which, ("chromium", "google-chrome"))), None
    )
    if found is None:
        pytest.skip("no Chromium on this machine; name one in WHIRLBENCH_CHROMIUM")
    sync_api.expect.set_options(timeout=PATIENCE)
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=CHROMIUM_FLAGS)
        yield browser
        browser.close()
