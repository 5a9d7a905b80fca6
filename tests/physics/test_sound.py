"""The listener on made-up sound: right or not sure, seldom sure and wrong."""

import runpy

import numpy as np
import pytest
from make_where import ROOT

from whirlbench.errors import InputError, OutOfRange
from whirlbench.measure import sound_fan
from whirlbench.measure.sound import heard_speed
from whirlbench.measure.sound_comb import best_speed
from whirlbench.measure.sound_file import RATE, read_sound, recording
from whirlbench.measure.sound_lines import ENVELOPE_RATE, envelopes, evidence, lines
from whirlbench.measure.sound_track import straightened, tracked_speed

SOUNDS = runpy.run_path(str(ROOT / "benchmarks" / "sounds.py"))
TURN = 2 * np.pi
RPM = np.pi / 30


def swelling(frequency, *, seconds=8.0, rate=RATE, depth=0.8, seed=1):
    """Noise that swells evenly, as often as an array or a number says [Hz]."""
    count = int(seconds * rate)
    phase = TURN * np.cumsum(np.broadcast_to(frequency, count)) / rate
    return 0.1 * np.random.default_rng(seed).standard_normal(count) * (1 + depth * np.cos(phase))


def heard(sound, **more):
    known = {"blade_count": sound.blade_count, "guess": sound.guess, "fan": sound_fan.NO_FAN} | more
    if sound.fan is not None:
        known["fan"] = sound_fan.fan_alone(recording(sound.fan, RATE))
    return heard_speed(recording(sound.samples, RATE), **known)


def judged(numbers, **how):
    """Errors [-] and sureness of many answers."""
    results = []
    for number in numbers:
        sound = SOUNDS["trial"](number, **how)
        answer = heard(sound)
        results.append((abs(answer.rotor_speed / sound.rotor_speed - 1), answer.sure))
    error, sure = np.array(results).T
    return error, sure.astype(bool)


@pytest.mark.parametrize("blades,turns", [(2, 100), (3, 400), (5, 900), (7, 1500), (12, 1900)])
def test_an_even_swell_is_read_to_a_tenth_of_a_percent(blades, turns):
    speed = turns * RPM
    answer = heard_speed(
        recording(swelling(blades * speed / TURN), RATE), blade_count=blades, guess=1.15 * speed, fan=sound_fan.NO_FAN
    )
    assert answer.sure, answer.why
    assert answer.rotor_speed == pytest.approx(speed, rel=1e-3)
    assert 0 < answer.sigma < 0.005 * speed
    assert answer.blade_count == blades


@pytest.mark.parametrize("rate", [8000, 22050, 44100, 48000])
def test_the_rate_of_the_file_does_not_matter(rate):
    answer = heard_speed(
        recording(swelling(21.0, rate=rate), rate), blade_count=3, guess=7.5 * TURN, fan=sound_fan.NO_FAN
    )
    assert answer.sure, answer.why
    assert answer.rotor_speed == pytest.approx(7 * TURN, rel=2e-3)


def test_loudness_and_channels_do_not_matter():
    mono = swelling(21.0)
    once = heard_speed(recording(mono, RATE), blade_count=3, guess=7 * TURN, fan=sound_fan.NO_FAN)
    twice = heard_speed(
        recording(np.column_stack([mono, mono]) * 0.03, RATE), blade_count=3, guess=7 * TURN, fan=sound_fan.NO_FAN
    )
    assert twice.rotor_speed == pytest.approx(once.rotor_speed, rel=1e-9)
    assert twice.confidence == pytest.approx(once.confidence, rel=1e-6)


def test_the_envelope_of_a_swelling_noise_holds_its_line():
    spectrum = lines(envelopes(recording(swelling(30.0), RATE)))
    strongest = spectrum.frequency[spectrum.power.sum(axis=0).argmax()]
    assert strongest == pytest.approx(30.0, abs=2 * spectrum.step)


def test_noise_without_lines_is_at_its_floor():
    noise = np.random.default_rng(3).standard_normal(8 * RATE)
    spectrum = lines(envelopes(recording(noise, RATE)))
    inside = (spectrum.frequency > 2) & (spectrum.frequency < 100)
    assert spectrum.power[:, inside].mean() == pytest.approx(1.0, abs=0.1)  # exponential with mean one: sd 0.02 here


def test_a_silenced_range_has_no_evidence():
    spectrum = lines(envelopes(recording(swelling(30.0), RATE)))
    loud = evidence(spectrum)
    quiet = evidence(spectrum, np.array([[29.0, 31.0]]))
    place = int(30 / spectrum.step)
    assert (loud[:, place] > 2).all() and (quiet[:, place] == 0).all()


def test_of_a_comb_and_its_half_the_comb_wins():
    """Lines at 10, 20, 30, 40 Hz of two blades are 5 Hz of the shaft, and neither 2.5 nor 10."""
    proofs = np.zeros((1, 5001))
    proofs[0, [1000, 2000, 3000, 4000]] = 3.0
    found = best_speed(proofs, 0.01, (2.0, 12.0), blade_count=2)
    assert found.shaft_frequency == pytest.approx(5.0, rel=1e-3)
    assert found.lead > 1
    assert found.lead == pytest.approx(found.score - found.rivals[0].score)


def test_a_straying_speed_is_followed_and_its_mean_told():
    times = np.arange(8 * RATE) / RATE
    frequency = 24.0 * (1 + 0.03 * np.sin(TURN * times / 5))
    swells = envelopes(recording(swelling(frequency), RATE))
    track = tracked_speed(swells, [250, 500, 1000, 2000, 3500], 24.0, blade_count=3)
    assert track.ratio * 24.0 == pytest.approx(frequency.mean(), rel=5e-3)  # the first and last second are guessed
    assert track.wander == pytest.approx(frequency.std() / 24.0, rel=0.3)
    blurred, sharp = lines(swells), lines(straightened(swells, track))
    assert sharp.power.sum(axis=0).max() > 2 * blurred.power.sum(axis=0).max()
    assert swells.shape[1] == 8 * ENVELOPE_RATE


def test_noise_and_hum_alone_are_never_sure():
    _, sure = judged(range(500, 506), turbine=False)
    assert not sure.any()
    tones = sum(0.1 / k * np.cos(TURN * 50 * k * np.arange(8 * RATE) / RATE) for k in range(1, 40))
    noise = 0.01 * np.random.default_rng(5).standard_normal(8 * RATE)
    answer = heard_speed(recording(tones + noise, RATE), blade_count=3, guess=1000 * RPM)  # 50 passes a second
    assert not answer.sure
    assert answer.why.startswith("Not sure: ")


def test_without_a_word_of_the_fan_nothing_is_sure():
    """Alone it could as well be the rotor."""
    known = {"blade_count": 3, "guess": 7 * TURN}
    told, untold = (
        heard_speed(recording(swelling(21.0), RATE), **known, **fan) for fan in ({"fan": sound_fan.NO_FAN}, {})
    )
    assert told.sure and not untold.sure
    assert untold.rotor_speed == told.rotor_speed
    assert "record the fan alone" in untold.why


def test_two_machines_as_loud_as_each_other_are_not_sure():
    both = swelling(21.0, seed=1) + swelling(24.0, seed=2)
    answer = heard_speed(recording(both, RATE), blade_count=3, guess=7.5 * TURN, fan=sound_fan.NO_FAN)
    assert not answer.sure
    assert "would explain" in answer.why or "something else" in answer.why


@pytest.mark.parametrize("told", ["recording", "speed"])
def test_a_fan_told_of_is_not_taken_for_the_rotor(told):
    rotor, fan = swelling(21.0, seed=1), swelling(24.0, seed=2)
    known = (
        sound_fan.fan_alone(recording(swelling(24.0, seed=3), RATE))
        if told == "recording"
        else sound_fan.fan_of_speed(24.0 / 4 * TURN, 4)
    )
    answer = heard_speed(recording(rotor + fan, RATE), blade_count=3, guess=7.5 * TURN, fan=known)
    assert answer.sure, answer.why
    assert answer.rotor_speed == pytest.approx(7 * TURN, rel=5e-3)
    assert answer.fan_level == pytest.approx(0.0, abs=2.0)
    alone = heard_speed(recording(fan, RATE), blade_count=3, guess=7.5 * TURN, fan=known)
    assert not alone.sure


def test_a_fan_much_louder_is_refused():
    both = swelling(21.0, seed=1) + 6 * swelling(33.0, seed=2)
    known = sound_fan.fan_alone(recording(swelling(33.0, seed=3), RATE))
    answer = heard_speed(recording(both, RATE), blade_count=3, guess=7.5 * TURN, fan=known)
    assert not answer.sure
    assert answer.fan_level > sound_fan.TOO_LOUD
    assert "fan swells" in answer.why


def test_marks_stand_where_the_lines_are():
    answer = heard_speed(recording(swelling(21.0), RATE), blade_count=3, guess=7 * TURN, fan=sound_fan.NO_FAN)
    passes = [mark.frequency for mark in answer.marks if mark.kind == "blade pass"]
    assert passes[0] == pytest.approx(21.0, rel=0.01)
    assert answer.spectrum.shape[0] == 2 and 50 < answer.spectrum.shape[1] <= 600
    assert (np.diff(answer.spectrum[0]) > 0).all()


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["plain", "room", "gain control", "mp3", "uneven blades", "speed wander", "hum"])
def test_every_kind_of_recording_is_right_or_not_sure(kind):
    """Few sounds a kind; benchmarks/sound.py has the rates."""
    error, sure = judged(range(600, 606), kind=kind)
    assert (error[sure] < 0.01).all()
    assert sure.sum() >= 3  # of 6: an answer that is never sure would pass the line above


@pytest.mark.parametrize("format_,subtype", [("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "VORBIS"), ("MP3", None)])
def test_files_of_every_kind_are_read(tmp_path, format_, subtype):
    import soundfile

    path = tmp_path / f"turbine.{format_.lower()}"
    soundfile.write(path, np.column_stack([swelling(21.0)] * 2), RATE, format=format_, subtype=subtype)
    answer = heard_speed(read_sound(path), blade_count=3, guess=7 * TURN, fan=sound_fan.NO_FAN)
    assert answer.sure, answer.why
    assert answer.rotor_speed == pytest.approx(7 * TURN, rel=2e-3)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"not a sound at all" * 100])
def test_a_file_that_is_no_sound_is_refused(tmp_path, content):
    path = tmp_path / "turbine.wav"
    path.write_bytes(content)
    with pytest.raises(InputError, match="a sound file that can be read"):
        read_sound(path)
    with pytest.raises(InputError, match="a sound file that can be read"):
        read_sound(tmp_path / "nothing.wav")


@pytest.mark.parametrize(
    "samples,match",
    [
        (np.ones(RATE), "or more"),
        (np.zeros(8 * RATE), "silence"),
        (np.full(8 * RATE, 0.3), "silence"),
        (np.full(8 * RATE, np.nan), "no numbers"),
    ],
)
def test_samples_that_hold_nothing_are_refused(samples, match):
    with pytest.raises(InputError, match=match):
        recording(samples, RATE)


@pytest.mark.parametrize(
    "known", [{"blade_count": 1}, {"blade_count": 13}, {"guess": 1.0}, {"guess": 1e4}, {"mains": 5}]
)
def test_numbers_beyond_the_method_are_refused(known):
    with pytest.raises(OutOfRange):
        heard_speed(recording(swelling(21.0), RATE), **known)
