"""A recording is sent, heard in another process, and removed."""

import io
import time
import wave

import numpy as np
import pytest

from whirlbench.errors import InputError
from whirlbench.web.pages import sound
from whirlbench.web.uploads import Uploads

PAGE = "/teams/1/readings/sound"
RPM, BLADES = 300.0, 3


def recording(seconds=8.0, rate=16000):
    """WAV of hiss that swells with every passing blade."""
    time_s = np.arange(int(seconds * rate)) / rate
    hiss = np.random.default_rng(5).standard_normal(len(time_s))
    swell = 1 + 0.8 * np.cos(2 * np.pi * RPM / 60 * BLADES * time_s) + 0.3 * np.cos(2 * np.pi * RPM / 60 * time_s)
    samples = (0.1 * hiss * swell * 32767).clip(-32767, 32767).astype("<i2")
    page = io.BytesIO()
    with wave.open(page, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(samples.tobytes())
    return page.getvalue()


def heard(browser, answer):
    """Page of a job once it is done."""
    for _ in range(300):
        if browser.get(answer.url.path, headers={"accept": "application/json"}).json()["done"]:
            return browser.get(answer.url.path).text
        time.sleep(0.1)
    raise TimeoutError


def send(browser, content, name="run.wav", **fields):
    """Send a recording."""
    return browser.submit(PAGE, fields, files={"recording": (name, content, "audio/wav")})


def test_a_recording_is_heard_and_removed(team, other):
    answer = send(team, recording(), name="<b>run.wav", blades="3", guess="320", no_fan="yes")
    text = heard(team, answer)
    assert "give or take" in text
    assert "300" in text
    assert 'name="rotor_speed"' in text
    assert "<b>run" not in text
    assert not [place for _, _, place, _ in sound._SENT._sent.values() if place.exists()]
    assert other.get(answer.url.path).status_code == 404
    form = team.get("/teams/1/readings?rotor_speed=300+rpm&note=heard").text
    assert 'value="300 rpm"' in form


def test_what_is_no_sound_is_told(team):
    assert "sound file that can be read" in heard(team, send(team, b"no sound at all"))


@pytest.mark.parametrize("fields", [{"blades": "99"}, {"guess": "fast"}, {"fan_speed": "1200"}])
def test_an_odd_field_is_refused(team, fields):
    answer = send(team, recording(4.5), **fields)
    assert answer.status_code == 422
    assert "Try:" in answer.text


def test_another_ending_is_refused(team):
    assert send(team, b"x", name="run.exe").status_code == 422
    assert team.submit(PAGE, {}).status_code == 422


def test_a_file_goes_when_its_time_is_up():
    from starlette.datastructures import UploadFile

    now = [0.0]
    uploads = Uploads(clock=lambda: now[0])
    key = uploads.put(1, UploadFile(io.BytesIO(b"x"), filename="C:\\a\\b.csv"), what="file", endings=(".csv",))
    place, name = uploads.find(1, key)
    assert (name, place.read_bytes()) == ("b.csv", b"x")
    assert uploads.find(2, key) is None
    now[0] = 3600.0
    assert uploads.find(1, key) is None
    assert not place.exists()
    with pytest.raises(InputError, match="ends in"):
        uploads.put(1, UploadFile(io.BytesIO(b"x"), filename="a.exe"), what="file", endings=(".csv",))
    uploads.close()
