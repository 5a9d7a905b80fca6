"""Rotation speed from a phone's recording, or the honest answer that it cannot be told."""

from dataclasses import dataclass, replace

import numpy as np

from whirlbench.errors import within
from whirlbench.measure import sound_fan
from whirlbench.measure.sound_comb import best_speed, join
from whirlbench.measure.sound_file import RATE
from whirlbench.measure.sound_lines import BANDS, TOP, Lines, envelopes, evidence, lines, mask
from whirlbench.measure.sound_picture import Mark, marks, picture
from whirlbench.measure.sound_track import straightened, tracked_speed

SLOWEST, FASTEST = 100 * np.pi / 30, 2000 * np.pi / 30  # [rad/s] searched without a guess
GUESS_SPAN = 0.3  # a guess good to 25 % is searched a little further
_BLADES = range(2, 13)
_AGREEMENT_COUNTS = 5  # power of the share of parts that agree: three of four need four times the lead
_MARGIN, _MARGIN_ALONE = 0.3, 0.8  # lead that counts 63 %, with and without a guess: set on the tuning sounds
_LEAST_LEAD = 1.0  # a smaller one is luck, however well the parts agree
_STRANGER = -3.0  # [dB] a foreign line as strong as this could be another machine, and the rotor's the fan
_ENOUGH = 0.9  # confidence to be sure
_ALIKE, _ALIKE_MOST = 0.015, 0.04  # parts that agree so closely say the same speed, the more it strayed the less
_LEAST_DOUBT, _MOST_DOUBT = 0.002, 0.004  # standard uncertainty; the most leaves room for the promise of 1 %
_WANDER_DOUBT = 0.1  # of a stray speed's mean, over how far it strayed
_LEAN_DOUBT = 0.28  # of the answer, over how far the middle of its parts lies aside
_NEAR_MAINS = 0.015  # a phone's gain gives a hum line side lines this near


@dataclass(frozen=True)
class Rival:
    """Another speed that the sound could mean.

    Attributes
    ----------
    rotor_speed : float
        [rad/s].
    blade_count : int
        Blades that go with it.
    lead : float
        By how much the answer has more evidence than this rival [-].
    """

    rotor_speed: float
    blade_count: int
    lead: float


@dataclass(frozen=True)
class Heard:
    """What a recording says about the speed.

    Attributes
    ----------
    rotor_speed : float
        Best estimate, mean over the recording [rad/s].
    sigma : float
        Standard uncertainty where ``sure`` [rad/s].
    sure : bool
        False means: do not use the number.
    confidence : float
        0 to 1, a figure of merit and no probability [-].
    why : str
        Reason in plain words.
    blade_count : int
        Given, or the one that fits best.
    wander : float
        How far the speed strayed, one standard deviation over the mean [-].
    rivals : tuple of Rival
        Other speeds, nearest in evidence first.
    fan_level : float or None
        Swell of the fan over that of the turbine [dB]; None where no line of a fan is known.
    spectrum : ndarray, shape (2, k)
        Frequency [Hz] and height over the noise [dB], for the picture.
    marks : tuple of Mark
        Lines for the picture.
    """

    rotor_speed: float
    sigma: float
    sure: bool
    confidence: float
    why: str
    blade_count: int
    wander: float
    rivals: tuple[Rival, ...]
    fan_level: float | None
    spectrum: np.ndarray
    marks: tuple[Mark, ...]


def heard_speed(recording, *, blade_count=None, guess=None, fan=None, mains=None):
    """Rotor speed heard in a recording, with a confidence; not sure rather than wrong.

    Parameters
    ----------
    recording : Recording
        Of the running turbine, 4 s or more of one steady state.
    blade_count : int, optional
        Blades of the turbine, 2 to 12.
    guess : float, optional
        Speed that the team believes, good to 25 % [rad/s]. Without it 100 to 2000 rpm.
    fan : Fan, optional
        What is known of the fan, see ``sound_fan``; ``NO_FAN`` where none can be heard. Without it nothing is sure: a
        fan sounds like a rotor.
    mains : float, optional
        Mains frequency [Hz]. Without it 50 and 60.

    Returns
    -------
    Heard
        The speed and how sure it is.

    Raises
    ------
    OutOfRange
        Blades, guess or mains outside what the method can do.

    Notes
    -----
    Bands of the sound, the spectrum of their swell, a comb of blade-pass and shaft lines, and the course of the speed
    followed through the recording. Sure only where the comb leads every rival, both halves of the time and both halves
    of the bands choose the same speed, and the fan is not too loud. Rates on made-up sound stand in
    benchmarks/README.md; no real recording was tested. No published check found.
    """
    span, counts = _search_of(blade_count, guess)
    hum = _mains_ranges(mains, recording.samples.size / RATE)
    swells = envelopes(recording)
    whole = lines(swells)
    own_fan = fan.ranges(whole.step) if fan else np.empty((0, 2))
    search = _Search(span, counts, np.concatenate([hum, own_fan]))
    found = search.best(whole)
    track, apart = _tracked(swells, found, search.silent)
    agreement, lean = _agreement(
        swells, whole, found.shaft_frequency * track.ratio, search, alike=_alike(found, track, whole.step)
    )
    found, sharp, search = _straightened(swells, (found, whole), track, search)
    frequency, blades = found.shaft_frequency, found.blade_count
    margin = _MARGIN if guess else _MARGIN_ALONE
    confidence = 1 - np.exp(-max(found.lead, 0.0) * agreement**_AGREEMENT_COUNTS / margin)
    doubt = np.linalg.norm([0.5 * apart, _LEAST_DOUBT, _WANDER_DOUBT * track.wander, _LEAN_DOUBT * lean])
    level = sound_fan.level(sharp, frequency * blades, own_fan) if len(own_fan) else None
    reasons = [
        *_no_word_of(fan),
        *_loud_fan(level),
        *_weak_evidence(found, confidence, agreement),
        *_strangers(sharp, found, search.silent),
        *_near_mains(whole, frequency * blades, hum),
        *_end_of_range(found, span),
        *(["its parts give speeds too far apart for 1 %"] if doubt > _MOST_DOUBT else []),
    ]
    return Heard(
        rotor_speed=2 * np.pi * frequency,
        sigma=2 * np.pi * frequency * float(doubt),
        sure=not reasons,
        confidence=float(confidence),
        why=_why(reasons, found, recording, guess),
        blade_count=blades,
        wander=track.wander,
        rivals=tuple(Rival(2 * np.pi * each.shaft_frequency, each.blade_count, each.lead) for each in found.rivals),
        fan_level=level,
        spectrum=picture(whole, blades * frequency),
        marks=marks(whole, frequency, blade_count=blades, fan=own_fan, mains=hum),
    )


@dataclass(frozen=True)
class _Search:
    """Range of shaft frequency [Hz], blade counts to try, and ranges that say nothing [Hz]."""

    span: tuple
    counts: tuple
    silent: np.ndarray

    def best(self, spectrum):
        """Comb that explains a spectrum best."""
        proofs = evidence(spectrum, self.silent)
        return join([best_speed(proofs, spectrum.step, self.span, blade_count=count) for count in self.counts])


def _search_of(blade_count, guess):
    """Range of shaft frequency [Hz] and the blade counts to try."""
    if blade_count is not None:
        try_ = "count the blades; for other rotors use a stroboscope or count turns by hand"
        within("blades", blade_count, low=2, high=12, unit="", try_=try_)
    counts = _BLADES if blade_count is None else (int(blade_count),)
    if guess is None:
        return (SLOWEST / (2 * np.pi), FASTEST / (2 * np.pi)), counts
    try_ = "guess in turns a minute, such as '400 rpm'; this method is good for 100 to 2000 rpm"
    within("guess", guess, low=0.8 * SLOWEST, high=1.25 * FASTEST, unit="rad/s", try_=try_)
    centre = guess / (2 * np.pi)
    return (centre * (1 - GUESS_SPAN), centre * (1 + GUESS_SPAN)), counts


def _mains_ranges(mains, duration):
    """Narrow ranges around the multiples of the mains, which beat with one another in every band."""
    if mains is not None:
        within("mains", mains, low=16, high=400, unit="Hz", try_="50 Hz in most of the world, 60 Hz in the Americas")
    multiples = np.concatenate([np.arange(each, TOP, each) for each in ((50, 60) if mains is None else (mains,))])
    half = 1.5 / duration + 1e-3 * multiples
    return np.column_stack([multiples - half, multiples + half])


def _tracked(swells, found, silent):
    """Course of the speed, and how far two courses from different bands are apart [-]."""
    widths = np.diff(BANDS[: len(swells)], axis=1)[:, 0]
    pass_frequency = found.shaft_frequency * found.blade_count
    known = {"blade_count": found.blade_count, "silent": silent}
    pair = [tracked_speed(swells[i::2], widths[i::2], pass_frequency, **known).ratio for i in (0, 1)]
    return tracked_speed(swells, widths, pass_frequency, **known), float(np.ptp(pair))


def _alike(found, track, step):
    """How close two estimates have to be to mean the same speed: what it strayed, and what half the time tells [-]."""
    told = 2 * step / (found.shaft_frequency * found.blade_count)
    return np.clip(max(2 * found.width, 2 * track.wander, told), _ALIKE, _ALIKE_MOST)


def _agreement(swells, whole, frequency, search, *, alike):
    """Share of four parts (halves of the time, every other band) that say the speed, and how far they lie aside."""
    half = swells.shape[1] // 2
    wide = replace(
        search, silent=search.silent + 4 * whole.step * np.array([-1, 1])
    )  # lines of half the time are wider
    answers = [wide.best(lines(part)) for part in (swells[:, :half], swells[:, half:])]
    answers += [search.best(Lines(whole.frequency, whole.power[start::2])) for start in (0, 1)]
    aside = np.array([each.shaft_frequency / frequency - 1 for each in answers])
    return np.mean(np.abs(aside) < alike), abs(float(np.median(aside)))


def _straightened(swells, first, track, search):
    """Comb, spectrum and search on the rotor's own clock, where that explains more; the speed is the track's."""
    found, whole = first
    frequency = found.shaft_frequency * track.ratio
    sharp = lines(straightened(swells, track))
    # what does not turn with the rotor is smeared on its clock
    loose = replace(search, silent=search.silent * np.array([1 - 2 * track.wander, 1 + 2 * track.wander]))
    straight = loose.best(sharp)
    if straight.score > found.score and abs(straight.shaft_frequency / frequency - 1) < _alike(
        found, track, whole.step
    ):
        found, whole, search = straight, sharp, loose
    return replace(found, shaft_frequency=frequency), whole, search


def _no_word_of(fan):
    if fan is None:
        yield "a fan sounds like a rotor: record the fan alone at the same place, or say that no fan can be heard"


def _loud_fan(level):
    if level is not None and level > sound_fan.TOO_LOUD:
        yield f"the fan swells {level:.0f} dB louder than the turbine: hold the phone nearer to the turbine"


def _weak_evidence(found, confidence, agreement):
    if confidence < _ENOUGH and agreement < 1:
        yield "parts of the recording say different speeds, as they do where no rotor can be heard"
    elif confidence < _ENOUGH or found.lead < _LEAST_LEAD:
        rival = f"{60 * found.rivals[0].shaft_frequency:.0f} rpm" if found.rivals else "nothing"
        yield f"{rival} would explain the sound about as well"


def _strangers(spectrum, found, silent):
    rotor = {"blade_count": found.blade_count, "width": found.width}
    frequency, lead = sound_fan.stranger(spectrum, found.shaft_frequency, silent=silent, **rotor)
    if lead > _STRANGER:
        yield (
            f"something else swells {frequency:.1f} times a second, about as strongly: if that may be the fan, "
            "record the fan alone too"
        )


def _near_mains(spectrum, pass_frequency, hum):
    """A blade-pass line beside a louder line of the mains may be a side line of the hum."""
    middles = hum.mean(axis=1)
    near = hum[np.abs(middles / pass_frequency - 1) < _NEAR_MAINS]
    power = spectrum.power.sum(axis=0)
    around = [(1 - _NEAR_MAINS) * pass_frequency, (1 + _NEAR_MAINS) * pass_frequency]
    inside = mask(spectrum.frequency, near)
    own = mask(spectrum.frequency, [around]) & ~inside
    if len(near) and power[inside].max(initial=0) > power[own].max(initial=0):
        yield f"the blades would pass {pass_frequency:.1f} times a second, as often as the mains hums"


def _end_of_range(found, span):
    if not 1.01 * span[0] < found.shaft_frequency < 0.99 * span[1]:
        yield "the best speed lies at the end of the range searched, so the guess may be off"


def _why(reasons, found, recording, guess):
    rough = " The recording is clipped: hold the phone further away." if recording.clipped > 0.01 else ""
    if reasons:
        return "Not sure: " + "; ".join(reasons) + "." + rough
    slow = ""
    if guess is None:
        slow = f" Without a guess, uneven blades can be heard {found.blade_count} times too slow: check by eye."
    return (
        f"Parts of the recording, in time and in pitch, agree on this speed, and no other speed in the range "
        f"explains the lines nearly as well (lead {found.lead:.1f})." + slow + rough
    )
