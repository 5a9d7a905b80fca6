"""Tables as teams have them: every line comes in or is told, and no bytes at all bring the import down."""

import codecs
import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whirlbench.actions.import_readings import import_readings
from whirlbench.cli.main import run
from whirlbench.errors import InputError, WhirlbenchError
from whirlbench.measure.columns import COLUMNS
from whirlbench.measure.headers import correct, propose
from whirlbench.measure.numerals import decimal_mark, pointed
from whirlbench.measure.readings import Reading, read_readings
from whirlbench.measure.readings_file import write_readings
from whirlbench.measure.sheet import take_apart

ENGLISH = "Wind Speed (m/s),Voltage [mV],Load,rpm,Comments\n4.5,342,47 ohm,262,first\n3.4,255,22 ohm,197,fan low\n"
SPANISH = "Viento (m/s);Voltaje (mV);Resistencia (Ω);RPM;Notas\n4,5;342;47;262;first\n3,4;255,0;22;197;fan low\n"


@pytest.fixture
def bring(tmp_path):
    """Import text or bytes; answers with the report and the readings that were written."""

    def brought(text, **wishes):
        path, out = tmp_path / "t.csv", tmp_path / "out.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        out.unlink(missing_ok=True)
        report = import_readings(path, out=out, **wishes)
        lines = take_apart(path.read_bytes())
        whole = len(lines.rows) + len(lines.before) + report.header_lines + report.remark_lines + report.blank_lines
        assert report.readings + len(report.refused) == len(lines.rows) + len(lines.before)
        assert whole == sum(1 for _ in io.StringIO(path.read_bytes().decode(lines.encoding), newline=None))
        return report, read_readings(out) if report.written else ()

    return brought


# --- headers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "told"),
    [
        ("wind_speed [m/s]", "wind_speed m/s sure"),
        ("Wind Speed (km/h)", "wind_speed km/h sure"),
        ("Velocidad del viento (m/s)", "wind_speed m/s sure"),
        ("Viento m/s", "wind_speed m/s sure"),
        ("voltage_mV", "voltage mV sure"),
        ("Voltage, mV", "voltage mV sure"),
        ("voltage in mV", "voltage mV sure"),
        ("Voltage/mV", "voltage mV sure"),
        ("U/V", "voltage V likely"),
        ("Voltaje (mV)", "voltage mV sure"),
        ("Tensión [V]", "voltage V sure"),
        ("VOLTAGE (MV)", "voltage mV likely"),
        ("mV", "voltage mV guess"),
        ("V load [V]", "voltage V likely"),
        ("Corriente mA", "current mA sure"),
        ("Intensidad (mA)", "current mA sure"),
        ("Resistencia (Ω)", "load_resistance ohm sure"),
        ("R (k\u2126)", "load_resistance kohm likely"),
        ("n (rpm)", "rotor_speed rpm likely"),
        ("velocidad (rpm)", "rotor_speed rpm likely"),
        ("rotor speed [1/min]", "rotor_speed rpm sure"),
        ("rotor speed [Hz]", "rotor_speed rps sure"),
        ("generator rpm", "generator_speed rpm sure"),
        ("rpm generador", "generator_speed rpm sure"),
        ("Temp °C", "air_temperature degC sure"),
        ("Presión (hPa)", "air_pressure hPa sure"),
        ("Humedad %", "humidity % sure"),
        ("taken_at", "taken_at  sure"),
        ("Wind direction (deg)", "None  unknown"),
        ("Current (mV)", "None  unknown"),
        ("Power (mW)", "None  unknown"),
        ("time (s)", "None  unknown"),
        ("seq", "None  sure"),
        ("", "None  unknown"),
    ],
)
def test_a_header_is_matched_with_its_trust(header, told):
    (match,) = propose([header])
    assert f"{match.column} {match.unit} {match.trust}" == told
    assert match.why


@pytest.mark.parametrize("name", [name for name in COLUMNS if name != "pushed"])
def test_our_own_headers_are_sure(name):
    from whirlbench.measure.columns import NUMBERS, SHOWN_AS

    unit = f" [{SHOWN_AS.get(COLUMNS[name], COLUMNS[name])}]" if name in NUMBERS else ""
    (match,) = propose([name + unit])
    assert (match.column, match.trust) == (name, "sure")


def test_a_column_is_taken_once_by_the_surest_header():
    first, second = propose(["V [V]", "Voltage [mV]"])
    assert (first.column, first.why) == (None, "'Voltage [mV]' is taken for voltage")
    assert second.column == "voltage"


def test_a_persons_word_goes_before_the_proposal():
    proposed = propose(["V out", "x=y", "rpm"])
    one, two, three = correct(proposed, ["v OUT=voltage [mV]", "x=y=current [mA]", "#3="])
    assert (one.column, one.unit, one.trust) == ("voltage", "mV", "given")
    assert (two.column, two.unit) == ("current", "mA")
    assert (three.column, three.left_out) == (None, True)
    moved = correct(propose(["Voltage [V]", "b"]), ["b=voltage [mV]"])
    assert [match.column for match in moved] == [None, "voltage"]


@pytest.mark.parametrize(
    ("wish", "told"),
    [
        ("voltage [mV]", "map: got 'voltage [mV]', needs a header, =, and a column"),
        ("U=voltage [mV]", "map: got the header 'U', needs a header of this file. Try: use one of V out"),
        ("#2=voltage [mV]", "map: got the header '#2'"),
        ("V out=volts [mV]", "map: got the column 'volts', needs a column of a readings file. Try: write 'voltage'"),
        ("V out=voltage [kg]", "map: got the unit 'kg' for voltage, needs a unit that fits V"),
    ],
)
def test_a_wish_that_cannot_be_met(wish, told):
    with pytest.raises(InputError) as found:
        correct(propose(["V out"]), [wish])
    assert str(found.value).startswith(told)


# --- numbers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "separator", "mark"),
    [
        (["4,5", "3"], ";", ","),
        (["4.5", "1,234"], ";", "."),
        (["1.234,5"], ";", ","),
        (["1,234.5"], ",", "."),
        (["1,234"], ";", ","),
        (["1,234"], ",", None),
        (["1.234"], ";", "."),
        (["0,342"], ",", ","),
        (["4,5", "4.5"], ";", None),
        (["1.234.567"], ";", ","),
        (["342 mV", "open", ""], ",", "."),
    ],
)
def test_the_decimal_mark_of_a_file(cells, separator, mark):
    assert decimal_mark(cells, separator) == mark


@pytest.mark.parametrize(
    ("text", "mark", "number"),
    [
        ("4,5", ",", "4.5"),
        ("4,5 mV", None, "4.5 mV"),
        ("1.234,5", ",", "1234.5"),
        ("1,234.5", ".", "1234.5"),
        ("1.234", ",", "1234"),
        ("1.234", ".", "1.234"),
        ("1 234,5", ",", "1234.5"),
        ("1'234.5", ".", "1234.5"),
        ("1\u202f234", ",", "1234"),
        ("−3,5", ",", "-3.5"),
        ("1,5e-3", ",", "1.5e-3"),
    ],
)
def test_numbers_with_marks(text, mark, number):
    assert pointed(text, mark, place="here") == number


@pytest.mark.parametrize("text", ["1,234,5", "1.2.3", "0.342,5", "1.23,4.5", "1,5,"])
@pytest.mark.parametrize("mark", [",", ".", None])
def test_marks_in_strange_places_make_no_number(text, mark):
    with pytest.raises(InputError, match="needs a number"):
        pointed(text, mark, place="here")


@given(
    st.integers(0, 10**8),
    st.integers(0, 4),
    st.sampled_from([("", ","), (".", ","), (" ", ","), ("", "."), (",", ".")]),
)
def test_a_number_written_in_any_country_is_the_same_number(digits, places, marks):
    between, decimal = marks
    value = digits / 10**places
    text = f"{value:,.{places}f}".translate(str.maketrans({",": between, ".": decimal}))
    assert float(pointed(text, decimal, place="here")) == value


def test_a_number_that_reads_two_ways_is_refused(bring):
    report, readings = bring('wind [m/s],rotor speed [rpm]\n"4,5","1,234"\n4.5,262\n')
    assert [one.line for one in report.refused] == [2]
    assert "reads one way only" in report.refused[0].reason
    assert len(readings) == 1
    _, readings = bring('wind [m/s],rotor speed [rpm]\n"4,5","1,234"\n', decimal=".")
    assert readings[0].rotor_speed == pytest.approx(1234 * 0.104719755)


# --- files ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
@pytest.mark.parametrize("separator", [";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_encodings_separators_and_line_ends(bring, encoding, separator, end):
    text = SPANISH.replace("Ω" if encoding == "latin-1" else "\0", "ohmios").replace("first", "número uno")
    report, readings = bring(text.replace(";", separator).replace("\n", end).encode(encoding))
    assert (report.readings, report.refused) == (2, ())
    assert [(one.wind_speed, one.voltage, one.load_resistance) for one in readings] == [
        (4.5, 0.342, 47),
        (3.4, 0.255, 22),
    ]
    assert readings[0].note == "número uno"


def test_english_and_spanish_say_the_same(bring):
    assert bring(ENGLISH)[1] == bring(SPANISH)[1]


def test_every_kind_of_line_has_its_place(bring):
    report, readings = bring(
        "sep=;\nTeam Kittiwake\n# a remark\n17;4,5\n\nWind;Voltage;Load\n(m/s);(mV);(ohm)\n4,5;342;47\n;;\n"
        "Wind;Voltage;Load\n4,5;342;47;1\n4,5;342\n4,5;OL;47\n4,5;-3;47\nend of the test;;\n4,5;0,342 V;open\n"
    )
    assert [one.line for one in report.refused] == [4, 11, 12, 13, 14, 15]
    words = ["before the header", "4 cells where", "cut short", "over its range", "swap the meter", "a number and"]
    assert all(word in one.reason for word, one in zip(words, report.refused, strict=True))
    assert (report.header_lines, report.remark_lines, report.blank_lines) == (3, 3, 2)
    assert [one.voltage for one in readings] == pytest.approx([0.342, 0.342])
    assert readings[1].load_resistance == 1e7


def test_a_file_without_a_header_waits_for_a_persons_word(bring):
    report, _ = bring("4.5,342\n3.4,255\n")
    assert report.readings == 0
    assert len(report.refused) == 2
    _, readings = bring("4.5,342\n3.4,255\n", mapping=["column 1=wind_speed [m/s]", "#2=voltage [mV]"])
    assert [one.voltage for one in readings] == [0.342, 0.255]


def test_cells_that_nothing_answers_to_are_kept_in_the_note(bring):
    _, readings = bring("wind [m/s],Power (mW),note\n4.5,2.5,ok\n")
    assert readings[0].note == "ok; Power (mW): 2.5"
    _, readings = bring("wind [m/s],Power (mW),note\n4.5,2.5,ok\n", mapping=["Power (mW)="])
    assert readings[0].note == "ok"


def test_a_unit_is_never_made_up(bring):
    report, readings = bring("wind [m/s],voltage\n4.5,342\n4.5,342 mV\n4.5,\n")
    assert [one.line for one in report.refused] == [2]
    assert "--map 'voltage=voltage [unit]'" in report.refused[0].reason
    assert [one.voltage for one in readings] == [0.342, None]


def test_what_holds_for_every_row_is_filled_in(bring):
    report, readings = bring("voltage [mV]\n342\n", fill=["wind_speed=16.2 km/h"])
    assert (report.without_wind, readings[0].wind_speed) == (0, pytest.approx(4.5))
    with pytest.raises(InputError, match="fill: got 'wind=4 m/s'"):
        bring("voltage [mV]\n342\n", fill=["wind=4 m/s"])


def test_questions_go_with_the_readings(bring):
    report, _ = bring("wind [m/s],V [V],I [A],R [ohm]\n4.5,0.342,7.3,47\n")
    assert "mA written as A" in report.questions[0].question
    assert report.readings == 1


def test_nothing_is_overwritten(tmp_path):
    write_readings(tmp_path / "r.csv", [Reading(row=2, wind_speed=4.0)])
    with pytest.raises(InputError, match="which is there already"):
        write_readings(tmp_path / "r.csv", [Reading(row=2, wind_speed=5.0)])
    assert read_readings(tmp_path / "r.csv")[0].wind_speed == 4
    with pytest.raises(InputError, match="a place that can be written"):
        write_readings(tmp_path / "none" / "r.csv", [Reading(row=2, wind_speed=5.0)])


NUMBER = st.none() | st.floats(1e-6, 1e4)
READINGS = st.builds(
    Reading,
    row=st.just(2),
    wind_speed=st.floats(0.1, 50),
    **dict.fromkeys(["voltage", "current", "load_resistance", "rotor_speed", "generator_speed", "tip_force"], NUMBER),
    air_temperature=st.none() | st.floats(231, 329),
    air_pressure=st.none() | st.floats(5.1e4, 1e5),
    humidity=st.none() | st.floats(0, 1),
    pushed=st.booleans(),
    taken_at=st.datetimes().map(lambda moment: moment.isoformat()) | st.just(""),
    build=st.text(alphabet="AB 12", max_size=3).map(str.strip),
    note=st.text(alphabet='ab;,"# é', max_size=8).map(lambda text: " ".join(text.split())),
)  # fmt: skip


@given(reading=READINGS)
def test_what_is_written_is_read_again(tmp_path_factory, reading):
    path = tmp_path_factory.getbasetemp() / "again.csv"
    path.unlink(missing_ok=True)
    write_readings(path, [reading])
    (again,) = read_readings(path)
    brought = import_readings(path)
    assert (brought.readings, brought.refused) == (1, ())
    for name in COLUMNS:
        given, got = getattr(reading, name), getattr(again, name)
        assert got == (pytest.approx(given, rel=1e-10, abs=1e-12) if isinstance(given, float) else given), name


# --- any bytes at all -------------------------------------------------------------------------------------------------


def accounted(path, data, **wishes):
    """Import bytes; every line has to be somewhere, and only our own errors come out."""
    path.write_bytes(data)
    try:
        report = import_readings(path, **wishes)
    except WhirlbenchError as error:
        assert all(one.what and one.got and one.needs and one.try_ for one in getattr(error, "errors", (error,)))
        return None
    text = data.decode(report.encoding)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    count = len(lines) - (lines[-1] == "")
    told = report.readings + len(report.refused) + report.header_lines + report.remark_lines + report.blank_lines
    assert told == count
    assert all(one.reason and one.text == lines[one.line - 1] for one in report.refused)
    return report


@pytest.fixture(scope="module")
def scratch(tmp_path_factory):
    return tmp_path_factory.mktemp("import") / "any.csv"


@given(st.binary(max_size=300), st.sampled_from([b"", codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE]))
def test_any_bytes_are_accounted_for(scratch, data, bom):
    accounted(scratch, bom + data)


CELLS = st.text(max_size=8) | st.text(alphabet='0123456789.,;-+e" mVΩ\t#/=\0', max_size=8)
HEADERS = st.sampled_from(
    ["wind [m/s]", "Voltaje mV", "R (ohm)", "rpm", "nota", "x", "", "pushed", "fecha", "V", "4,5"]
)


@given(st.lists(HEADERS, max_size=5), st.lists(st.lists(CELLS, max_size=6), max_size=6), st.sampled_from(",;\t"))
def test_any_table_is_accounted_for(scratch, header, rows, mark):
    accounted(scratch, "\n".join(mark.join(cells) for cells in [header, *rows]).encode("utf-8", "replace"))


@given(
    st.sampled_from([ENGLISH, SPANISH]),
    st.lists(st.tuples(st.integers(0, 200), st.integers(0, 3), st.binary(max_size=3)), max_size=6),
)
def test_a_good_file_with_damage_is_accounted_for(scratch, text, damage):
    data = bytearray(text.encode())
    for place, width, new in damage:
        data[place : place + width] = new
    accounted(scratch, bytes(data))


@given(
    st.lists(
        st.sampled_from(["4.5,342,47", "4.5,,47", "x,342,47", "4.5,342", "4.5,-1,47", "", "# remark"]), max_size=30
    )
)
def test_good_rows_all_come_in_whatever_stands_between(scratch, lines):
    report = accounted(scratch, "\n".join(["wind [m/s],V [mV],R [ohm]", *lines]).encode())
    good = sum(line in ("4.5,342,47", "4.5,,47") for line in lines)
    bad = sum(line in ("x,342,47", "4.5,342", "4.5,-1,47") for line in lines)
    assert (report.readings, len(report.refused)) == (good, bad)


def test_a_cell_without_end_is_refused(scratch):
    report = accounted(scratch, b"wind [m/s],note\n4.5," + b"a" * 200_000 + b"\n" + b"9" * 5000 + b",x\n4.5,ok\n")
    assert report.readings >= 1


def test_a_spreadsheets_quotes_are_taken_off(bring):
    page = io.StringIO()
    csv.writer(page, quoting=csv.QUOTE_ALL).writerows([["wind [m/s]", "note"], ["4.5", 'said "go", went']])
    assert bring(page.getvalue())[1][0].note == 'said "go", went'


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.fixture
def call(monkeypatch, capsys, tmp_path):
    """Run the command on a text; answers with status, output and errors."""
    (tmp_path / "t.csv").write_text(SPANISH.replace("197", "much"), encoding="utf-8")

    def called(*words):
        monkeypatch.setattr("sys.argv", ["whirlbench", "import", str(tmp_path / "t.csv"), *words])
        with pytest.raises(SystemExit) as end:
            run()
        return end.value.code or 0, *capsys.readouterr()

    return called


def test_the_command_shows_the_columns_and_every_refused_line(call, tmp_path):
    status, out, _ = call("--out", str(tmp_path / "out.csv"))
    assert status == 1  # a line was refused
    told = " ".join(out.split())
    assert "1 reading came in, 1 line did not" in told
    assert "Voltaje (mV) voltage mV sure" in told
    assert "--map 'header=column [unit]'" in told
    assert "Refused, line 3: RPM: got 'much" in told
    assert len(read_readings(tmp_path / "out.csv")) == 1
    assert call("--out", str(tmp_path / "out.csv"))[0] == 2  # never overwritten


def test_the_command_looks_without_writing(call, tmp_path):
    status, out, _ = call("--show", "--json", "--map", "RPM=", "--out", str(tmp_path / "out.csv"))
    answer = json.loads(out)
    assert (status, answer["written"], answer["readings"], answer["decimal_mark"]) == (0, None, 2, ",")
    assert not (tmp_path / "out.csv").exists()
    assert call()[0] == 2


def test_the_command_refuses_a_wish_in_four_pieces(call):
    assert call("--show", "--map", "RPM=speed [rpm]")[2].startswith("map: got the column 'speed', needs")
    assert call("--show", "--decimal", ";")[2].startswith("decimal: got ';', needs a comma or a point. Try:")
