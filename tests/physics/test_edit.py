"""Fields of a turbine changed in text: what is typed is what stands there after, slips land under their field."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from turbines import BUILDS, example

from whirlbench.errors import InputErrors
from whirlbench.parts import edit, fields
from whirlbench.parts.part import Part


@pytest.mark.parametrize(
    ("path", "text", "look", "wanted"),
    [
        ("rotor.pitch", "12 deg", lambda t: t.rotor.pitch, math.radians(12)),
        ("rotor.shape.tip_radius", "9 in", lambda t: t.rotor.radius, 0.2286),
        ("drivetrain.0.rotor_teeth", "48", lambda t: t.drivetrain[0].rotor_teeth, 48),
        ("load.resistance", "1 kohm", lambda t: t.load.resistance, 1000.0),
        ("base.ballast", "1,5 kg", lambda t: t.base.ballast, 1.5),
        ("base.ballast", "1.5 kg", lambda t: t.base.ballast, 1.5),
        ("rotor.section.camber", "4 %", lambda t: t.rotor.section.camber, 0.04),
        ("rotor.holes", "1, 4 7, 10", lambda t: t.rotor.holes, (1, 4, 7, 10)),
        ("rotor.blade_count", "4", lambda t: t.rotor.holes, (1, 4, 7, 10)),
        ("wind.rings", "5, 4, 3 m/s", lambda t: t.wind.rings, (5.0, 4.0, 3.0)),
        ("generator.rectifier", "fitted", lambda t: t.generator.rectifier.in_path, 2),
        ("rotor.rod", "none", lambda t: t.rotor.rod, None),
        ("load.kind", "leds", lambda t: t.load.kind, "leds"),
        ("tower.joint", "clamped", lambda t: t.tower.joint, "clamped"),
    ],
)
def test_what_is_typed_stands_there_after(path, text, look, wanted):
    before = example("geared")
    after = edit.changed(before, {path: text})
    assert look(after) == (pytest.approx(wanted) if isinstance(wanted, float) else wanted)
    assert before == example("geared")


def test_a_map_is_turned_up_as_a_whole():
    before = example("starter")
    after = edit.changed(before, {"wind.mean_speed": "6 m/s"})
    assert edit.mean_speed(after.wind.rings) == pytest.approx(6.0)
    shares = {now / old for now, old in zip(after.wind.rings, before.wind.rings, strict=True)}
    assert max(shares) - min(shares) < 1e-12


def test_a_new_kind_takes_over_what_both_have_and_the_fields_that_went_are_passed_over():
    before = example("starter")
    after = edit.changed(before, {"load.kind": "leds", "load.resistance": "9 ohm", "load.colour": "green"})
    assert (after.load.kind, after.load.colour) == ("leds", "green")
    assert edit.changed(before, {"drivetrain.0.rotor_teeth": "64"}) == before
    tunnel = edit.changed(before, {"wind.kind": "tunnel"})
    assert tunnel.wind.speed.number == pytest.approx(edit.mean_speed(before.wind.rings))


def test_stages_are_put_in_and_taken_out_and_those_that_stay_keep_their_numbers():
    before = example("geared")
    longer = edit.changed(before, {"drivetrain.stages": "gears, belt", "drivetrain.1.tension": "2 N"})
    assert longer.drivetrain[0] == before.drivetrain[0]
    assert longer.drivetrain[1].tension == 2.0
    assert edit.changed(longer, {"drivetrain.stages": "none"}).drivetrain == ()


def test_a_number_without_a_doubt_keeps_the_relative_doubt_of_the_old_one():
    measured = edit.changed(example("starter"), {"generator.kind": "measured"})
    new = edit.changed(measured, {"generator.resistance": "20 ohm"}).generator.resistance
    assert (new.number, new.relative) == (20.0, pytest.approx(measured.generator.resistance.relative))
    exact = edit.changed(measured, {"generator.resistance": "20 ohm +- 1 %"}).generator.resistance
    assert exact.relative == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("path", "text", "piece"),
    [
        ("rotor.pitch", "12", "a number and a unit"),
        ("base.ballast", "1,500 g", "a number and a unit"),
        ("load.resistance", "-4 ohm", "0 to 1e+07 ohm"),
        ("rotor.blade_count", "7", "spreads evenly"),
        ("rotor.blade_count", "9" * 5000, "spreads evenly"),
        ("drivetrain.0.rotor_teeth", "6.5", "a whole number"),
        ("drivetrain.0.rotor_teeth", "9" * 5000, "a whole number"),
        ("rotor.shape.tip_radius", "20 mm", "radii that grow"),
        ("wind.mean_speed", "fast", "a number and a unit"),
        ("rotor.pich", "3 deg", "'pitch'"),
        ("drivetrain.0.teath", "12", "a field of this turbine"),
        ("rotor", "3", "a field of this turbine"),
    ],
)
def test_a_slip_lands_under_its_field(path, text, piece):
    with pytest.raises(InputErrors) as caught:
        edit.changed(example("geared"), {path: text})
    assert path in {edit.path_of(one) for one in caught.value.errors}
    assert piece in str(caught.value)


def test_all_slips_are_told_at_once():
    with pytest.raises(InputErrors) as caught:
        edit.changed(example("geared"), {"rotor.pitch": "x", "wind.mean_speed": "y", "nothing.here": "z"})
    assert len(caught.value.errors) == 3


@pytest.mark.parametrize("name", BUILDS)
@pytest.mark.parametrize("inches", [False, True])
def test_what_is_shown_and_sent_back_changes_nothing(name, inches):
    turbine = example(name)
    shown = {each.path: each.text for each in fields.fields(turbine, inches=inches)}
    assert fields.new_texts(turbine, shown) == {}


@pytest.mark.parametrize("name", BUILDS)
def test_what_is_shown_reads_back_as_what_stands_there_to_the_digits_shown(name):
    shown = {each.path: each.text for each in fields.fields(example(name))}
    assert {each.path: each.text for each in fields.fields(edit.changed(example(name), shown))} == shown


@pytest.mark.parametrize("name", BUILDS)
def test_every_field_has_words_a_group_and_a_slider_that_holds_what_stands_there(name):
    for each in fields.fields(example(name)):
        assert each.label
        assert each.group in fields.GROUPS
        if each.low is not None and each.number is not None:
            assert each.low <= each.number <= each.high
        if each.choices:
            assert each.text in each.choices


@pytest.mark.parametrize("name", BUILDS)
def test_the_ends_of_every_slider_can_be_typed(name):
    turbine = example(name)
    for each in fields.fields(turbine):
        if each.low is None or each.path.endswith("tip_radius"):  # a blade must end outside its beginning
            continue
        for end in (each.low, each.high):
            edit.changed(turbine, {each.path: f"{end:g} {each.unit}".strip()})


def leaves(part, path=()):
    """Paths of all that is neither a part nor a list of parts."""
    for name in type(part).model_fields:
        content = getattr(part, name)
        if isinstance(content, Part):
            yield from leaves(content, (*path, name))
        elif isinstance(content, tuple) and content and isinstance(content[0], Part):
            for number, one in enumerate(content):
                yield from leaves(one, (*path, name, str(number)))
        else:
            yield ".".join((*path, name))


@pytest.mark.parametrize("name", BUILDS)
def test_no_field_of_a_part_is_left_out(name):
    turbine = example(name)
    shown = {each.path for each in fields.fields(turbine)}
    left = {path for path in leaves(turbine) if path not in shown}
    single = {path for path in left if path.endswith(".kind")}  # kinds of which there is only one
    assert left - single <= {"format", "name", "note", "wind.speed", "drivetrain"}


@pytest.mark.parametrize(("before", "after"), [(a, b) for a in BUILDS for b in BUILDS if a != b])
def test_one_build_becomes_another_by_texts(before, after):
    texts = fields.texts_between(example(before), example(after))
    became = edit.changed(example(before), texts)
    assert fields.texts_between(became, example(after)) == {}


@given(st.sampled_from(BUILDS), st.text(max_size=12), st.text(max_size=40))
def test_any_text_at_any_path_is_taken_or_refused_with_four_pieces(name, last, text):
    turbine = example(name)
    for path in (last, f"rotor.{last}", "rotor.holes", "drivetrain.stages", "wind.rings", "load.kind", "rotor.pitch"):
        try:
            edit.changed(turbine, {path: text})
        except InputErrors as found:
            assert all(one.what and one.needs and one.try_ for one in found.errors)


def test_nobody_names_another_file_from_afar():
    with pytest.raises(InputErrors, match="the file that came with the turbine"):
        edit.changed(example("starter"), {"rotor.section.file": "/etc/hostname"})
