"""Check: rules, margins, balance and hazards, told by words and signs."""

PAGE = "/teams/1/check"


def test_rules_margins_balance_and_hazards_are_told(team):
    text = team.get(PAGE).text
    for word in ("Rules of", "What has to hold", "With doubt", "blade 1 in hole 1", "Hazards", "A blade flies off"):
        assert word in text
    assert "✓" in text
    assert "fine" in text


def test_no_event_is_said(app, team):
    from whirlbench.store import settings

    with app.state.store.writing() as session:
        before = settings.load(session, "room")["event"]
        settings.keep(session, "room", event=None)
    try:
        text = team.get(PAGE).text
    finally:
        with app.state.store.writing() as session:
            settings.keep(session, "room", event=before)
    assert "no event yet" in text


def test_another_team_sees_nothing(other, nobody):
    assert other.get(PAGE).status_code == 404
    assert nobody.get(PAGE, follow_redirects=False).status_code == 303
    assert "no turbine yet" in other.get("/teams/2/check").text


def test_an_unknown_turbine_is_not_there(team):
    assert team.get(PAGE, params={"turbine": "<script>alert(1)</script>"}).status_code == 404
