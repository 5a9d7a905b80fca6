"""The logger's lines: whole samples come through, noise and gaps are counted, no bytes bring the reader down."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from make_where import ROOT

from whirlbench.measure.protocol import LONGEST, LineReader, checksum

HEADER = b"seq,ms,voltage [mV],rotor_speed [rpm]"


def sealed(line):
    return line + b"*" + checksum(line) + b"\n"


def read(*pieces):
    reader = LineReader()
    return reader, [sample for piece in pieces for sample in reader.feed(piece)]


def stream(numbers, seal=sealed):
    return seal(HEADER) + b"".join(seal(b"%d,%d,342.1,262" % (n, 20 * n)) for n in numbers)


def test_the_checksum_has_its_published_check_value():
    assert checksum(b"123456789") == b"29B1"


def test_the_examples_of_the_page_are_samples():
    page = (ROOT / "docs" / "logger.md").read_text(encoding="utf-8")
    lines = re.findall(r"^\| (?:header|sample as \w+|remark) \| `(.+)` \|$", page, re.MULTILINE)
    reader, samples = read(
        *(line.encode() + b"\n" for line in lines[:2]), *(line.encode() + b"\n" for line in lines[3:])
    )
    _, (as_json,) = read(lines[2].encode() + b"\n")
    assert (len(lines), len(samples), reader.garbled) == (4, 1, 0)
    assert samples[0].numbers() == as_json.numbers()


def test_numbers_come_in_si():
    _, (sample,) = read(HEADER + b",light [lux],air_temperature [degC]\n17,4210,342,262,80,21\n")
    numbers = sample.numbers()
    assert numbers["voltage"] == (pytest.approx(0.342), "V")
    assert numbers["rotor_speed"] == (pytest.approx(27.436576), "rad/s")
    assert numbers["light [lux]"] == (80, "lux")
    assert numbers["air_temperature"] == (pytest.approx(294.15), "K")
    assert (sample.sequence, sample.milliseconds, sample.restart) == (17, 4210, 0)


@pytest.mark.parametrize("size", [1, 2, 7, 64])
def test_pieces_of_any_size_give_the_same_samples(size):
    data = stream(range(20))
    assert read(*(data[k : k + size] for k in range(0, len(data), size)))[1] == read(data)[1]


def test_gaps_repeats_and_restarts_are_told_apart():
    reader, samples = read(stream([0, 1, 2, 5, 5, 6, 0, 1]))
    assert [one.sequence for one in samples] == [0, 1, 2, 5, 6, 0, 1]
    assert (reader.lost, reader.repeated, reader.restarts, reader.garbled) == (2, 1, 1, 0)
    assert samples[-1].restart == 1


def test_a_blank_cell_was_not_measured():
    _, samples = read(HEADER + b"\n1,20,,262\n", b'{"seq":2,"ms":40,"voltage [mV]":null}\n')
    assert [set(one.numbers()) for one in samples] == [{"rotor_speed"}, set()]


def test_samples_before_a_header_are_counted():
    reader, samples = read(b"1,20,342,262\n2,40,342,262\n", stream([3]))
    assert (len(samples), reader.unheaded, reader.lost) == (1, 2, 0)


@pytest.mark.parametrize(
    "noise",
    [
        b"\x00\xff\xfe garbage\n",
        b"12,240,34\n",
        b"12,240,342,262,1\n",
        b"12,240,342,nan\n",
        b"12,240,1e999,262\n",
        b"12,-240,342,262\n",
        b"99999999999,240,342,262\n",
        b"4294967296,240,342,262\n",
        b'{"seq":12}\n',
        b'{"seq":12,"ms":240}\n',
        b'{"seq":12,"ms":240,"voltage [mV]":true}\n',
        b'{"seq":12,"ms":240,"voltage [mV]":NaN}\n',
        b'{"seq":1.5,"ms":240,"voltage [mV]":3}\n',
        b'{"seq":12,"ms":240,"voltage [mV]":1' + b"0" * 400 + b"}\n",
        b"{" * 400 + b"\n",
        b"seq,ms\n",
        b"seq,ms,voltage [mV\n",
        b"12,240,342,262*0000\n",
        b"x" * (LONGEST + 10) + b"\n",
    ],
)
def test_reading_goes_on_after_noise(noise):
    plain = stream([1], seal=lambda line: line + b"\n")
    reader, samples = read(plain, *(noise[k : k + 100] for k in range(0, len(noise), 100)), b"2,40,342.1,262\n")
    assert [one.sequence for one in samples] == [1, 2]
    assert reader.garbled == 1


def test_once_sealed_a_line_without_its_seal_is_noise():
    reader, samples = read(stream([1]), b"2,40,342.1,262\n# a remark\n", sealed(b"3,60,342.1,262"))
    assert [one.sequence for one in samples] == [1, 3]
    assert (reader.garbled, reader.lost) == (1, 1)


def test_half_a_header_is_given_up_at_the_first_seal():
    """The first header lost its end to noise, and with it its seal: the samples wait for the next header."""
    reader, samples = read(HEADER[:21] + b"\n", sealed(b"1,20,342.1,262"), stream([2]))
    assert [one.sequence for one in samples] == [2]
    assert (reader.unheaded, samples[0].header[1]) == (1, "rotor_speed [rpm]")


def test_half_a_line_is_not_joined_to_the_next():
    reader = LineReader()
    reader.feed(HEADER + b"\n1,20,342,262\n2,40,34")
    reader.cut()
    assert [one.cells for one in reader.feed(b"2,262\n7,99,342,262\n")] == [("342", "262")]
    assert reader.garbled == 2


@given(st.lists(st.binary(max_size=80) | st.sampled_from([b"\n", b"seq,ms,v\n", b"1,2,3\n", b'{"seq":', b"*29B1\n"])))
def test_any_bytes_are_noise_or_samples(pieces):
    reader, samples = read(*pieces)
    assert all(len(one.cells) == len(one.header) for one in samples)
    assert all(isinstance(one.numbers(), dict) for one in samples)
    assert min(reader.lost, reader.garbled, reader.unheaded, reader.repeated, reader.restarts) >= 0


@given(st.lists(st.tuples(st.integers(1, 30), st.binary(max_size=30).filter(lambda one: b"*" not in one)), max_size=8))
def test_noise_between_sealed_lines_costs_no_sample(noise):
    """Noise that ends with its line: every sealed sample comes through, whatever stands between."""
    lines = stream(range(30)).splitlines(keepends=True)
    for place, garbage in noise:
        lines.insert(place, garbage + b"\n")
    reader, samples = read(b"".join(lines))
    assert [one.sequence for one in samples] == list(range(30))
    assert reader.lost == 0


@given(st.binary(min_size=1, max_size=1), st.integers(0, 10**6))
def test_one_changed_byte_never_makes_another_sample(byte, place):
    data = bytearray(stream(range(10)))
    true = {one.sequence: one for one in read(bytes(data))[1]}
    data[place % len(data)] = byte[0]
    for sample in read(bytes(data))[1]:
        assert sample == true[sample.sequence]
