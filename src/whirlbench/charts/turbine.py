"""A turbine drawn to scale: the front view and the side view, as vector pictures whose unit is the millimetre."""

import math

from whirlbench import units
from whirlbench.charts import look

_INK = "currentColor"  # the pictures stand on paper that may be dark
_LETTERS = 0.044  # height of letters over height of the picture


def front_view(figure, *, inches=False):
    """Picture of a turbine as the wind sees it.

    Parameters
    ----------
    figure : Figure
        Numbers of the turbine: anything with the attributes of ``actions.figure``.
    inches : bool
        Write dimensions in inches.

    Returns
    -------
    str
        SVG without words; its unit is the millimetre, and its height that of ``side_view``.
    """
    frame = _Frame(figure, _half_width(figure), inches)
    axis, foot = frame.axis, frame.floor - _mm(figure.base_height_m)
    tube, base = _mm(figure.tower_diameter_m), _mm(figure.base_width_m)
    parts = [
        frame.ground(),
        _rect(-tube / 2, axis, (tube, foot - axis), "tower"),
        _rect(-base / 2, foot, (base, frame.floor - foot), "tower"),
        *_motor_in_front(figure, axis),
        *(_wheel_in_front(wheel, axis) for wheel in reversed(figure.wheels)),
        *(_blade_in_front(figure, angle, axis) for angle in figure.blade_angles_rad),
        _circle(0, axis, _mm(figure.hub_radius_m), "rotor"),
        *_holes(figure, axis),
        frame.across(-_mm(figure.radius_m), _mm(figure.radius_m), axis - _mm(figure.radius_m), 2 * figure.radius_m),
        frame.down(axis, frame.floor, -frame.half + frame.letters * 0.9, figure.axis_height_m),
    ]
    return frame.svg(parts, "front-view")


def side_view(figure, *, inches=False):
    """Picture of a turbine from the side, the wind coming from the left.

    Parameters
    ----------
    figure : Figure
        Numbers of the turbine: anything with the attributes of ``actions.figure``.
    inches : bool
        Write dimensions in inches.

    Returns
    -------
    str
        SVG without words; its unit is the millimetre, and its height that of ``front_view``.
    """
    behind = _mm(figure.motor_place_m + figure.motor_length_m)
    half = max(0.5 * _mm(figure.base_width_m), behind + 20, 0.3 * _mm(figure.radius_m)) + 40
    frame = _Frame(figure, half, inches)
    axis, foot = frame.axis, frame.floor - _mm(figure.base_height_m)
    tube, base = _mm(figure.tower_diameter_m), _mm(figure.base_width_m)
    nose = -0.5 * tube - 8 if not figure.wheels else -0.5 * tube - _mm(figure.motor_place_m)
    parts = [
        frame.ground(),
        *_breeze(frame, nose),
        _rect(-tube / 2, axis, (tube, foot - axis), "tower"),
        _rect(-base / 2, foot, (base, frame.floor - foot), "tower"),
        *_machine_beside(figure, nose, axis),
        *(_blade_beside(figure, angle, nose, axis) for angle in sorted(figure.blade_angles_rad, key=math.cos)),
        _rect(nose - 6, axis - _mm(figure.hub_radius_m), (12, 2 * _mm(figure.hub_radius_m)), "rotor"),
        frame.across(-base / 2, base / 2, frame.floor + frame.letters * 1.9, figure.base_width_m, above=False),
    ]
    return frame.svg(parts, "side-view")


class _Frame:
    """Place of the picture: its size, its floor, and the style of its dimensions."""

    def __init__(self, figure, half, inches):
        reach, height = _mm(figure.radius_m), _mm(figure.axis_height_m)
        below = max(0.0, reach - height)  # a rotor that would reach below the floor
        inside = reach + height + below
        self.letters = _LETTERS * inside * 1.2
        self.half, self.inches = half, inches
        self.axis = reach + 2.2 * self.letters
        self.floor = self.axis + height
        self.tall = self.floor + below + 2.6 * self.letters

    def svg(self, parts, name):
        box = f"{-self.half:.4g} 0 {2 * self.half:.4g} {self.tall:.4g}"
        head = f'<svg xmlns="http://www.w3.org/2000/svg" class="{name}" viewBox="{box}" aria-hidden="true" '
        font = f'font-size="{self.letters:.4g}" font-family="{look.FONT}" text-anchor="middle" fill="{_INK}"'
        return f"{head}{font}>{''.join(parts)}</svg>"

    def ground(self):
        return _line(-self.half, self.floor, self.half, self.floor, width=1.5)

    def label(self, size):
        return units.plain(size, "in" if self.inches else "mm")

    def across(self, left, right, at, size, *, above=True):
        """Dimension of a width, its line above or below what it measures."""
        y = at - 0.7 * self.letters if above else at - 0.9 * self.letters
        tick = 0.3 * self.letters
        lines = (
            _line(left, y, right, y) + _line(left, y - tick, left, y + tick) + _line(right, y - tick, right, y + tick)
        )
        words = y - 0.35 * self.letters if above else y + 0.95 * self.letters
        return f'{lines}<text x="{_n((left + right) / 2)}" y="{_n(words)}">{self.label(size)}</text>'

    def down(self, top, bottom, x, size):
        """Dimension of a height, its words along the line."""
        tick, middle = 0.3 * self.letters, (top + bottom) / 2
        lines = (
            _line(x, top, x, bottom) + _line(x - tick, top, x + tick, top) + _line(x - tick, bottom, x + tick, bottom)
        )
        turned = f'transform="rotate(-90 {_n(x)} {_n(middle)})"'
        words = f'x="{_n(x)}" y="{_n(middle + 0.95 * self.letters + tick / 2)}"'
        return f"{lines}<text {words} {turned}>{self.label(size)}</text>"


def _half_width(figure):
    reach = max(_mm(figure.radius_m), 0.5 * _mm(figure.base_width_m))
    return reach + 1.9 * _LETTERS * 1.2 * (_mm(figure.radius_m) + _mm(figure.axis_height_m))


def _blade_in_front(figure, angle, axis):
    """One blade and its rod as the wind sees them; an angle of 0 points up, and the rotor turns clockwise."""
    place, edge = figure.rod_place, ([], [])
    for radius, chord, tilt in figure.stations:
        width = _mm(chord) * math.cos(tilt)
        edge[0].append((width * place, -_mm(radius)))
        edge[1].append((-width * (1 - place), -_mm(radius)))
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in (*edge[0], *reversed(edge[1])))
    rod = ""
    if figure.rod_diameter_m:
        thick = _mm(figure.rod_diameter_m)
        rod = _rect(-thick / 2, -_mm(figure.inner_radius_m), (thick, _mm(figure.inner_radius_m)), "rotor")
    turned = f'transform="translate(0 {_n(axis)}) rotate({math.degrees(angle):.4g})"'
    return f'<g class="blade" {turned}>{rod}<polygon points="{points}" {_paint("rotor")}/></g>'


def _blade_beside(figure, angle, nose, axis):
    """One blade from the side: how far it stands out of the rotor plane, its height shortened by where it points."""
    up, place = math.cos(angle), figure.rod_place
    front = [(nose - _mm(c) * math.sin(t) * place, axis - _mm(r) * up) for r, c, t in figure.stations]
    back = [(nose + _mm(c) * math.sin(t) * (1 - place), axis - _mm(r) * up) for r, c, t in figure.stations]
    points = " ".join(f"{_n(x)},{_n(y)}" for x, y in (*front, *reversed(back)))
    rod = ""
    if figure.rod_diameter_m:
        end = axis - _mm(figure.inner_radius_m) * up
        rod = _line(nose, axis, nose, end, width=_mm(figure.rod_diameter_m), colour=look.colour("rotor"))
    return f'{rod}<polygon points="{points}" {_paint("rotor")}/>'


def _holes(figure, axis):
    """Holes of the hub that hold no blade."""
    used = {round(angle, 6) for angle in figure.blade_angles_rad}
    ring, hole = 0.72 * _mm(figure.hub_radius_m), 0.06 * _mm(figure.hub_radius_m)
    angles = [2 * math.pi * number / figure.hub_holes for number in range(figure.hub_holes)]
    free = [angle for angle in angles if round(angle, 6) not in used]
    return [_circle(ring * math.sin(a), axis - ring * math.cos(a), hole, None) for a in free]


def _motor_in_front(figure, axis):
    if not figure.motor_offset_m:
        return []
    return [_circle(0, axis - _mm(figure.motor_offset_m), _mm(figure.motor_diameter_m) / 2, "generator")]


def _wheel_in_front(wheel, axis):
    return _circle(0, axis - _mm(wheel.offset_m), _mm(wheel.radius_m), "drivetrain")


def _machine_beside(figure, nose, axis):
    """Shaft, wheels and generator from the side."""
    back, thick = nose + _mm(figure.motor_place_m), _mm(figure.shaft_diameter_m)
    across, long = _mm(figure.motor_diameter_m), _mm(figure.motor_length_m)
    high = axis - _mm(figure.motor_offset_m)
    yield _rect(nose, axis - thick / 2, (_mm(figure.motor_place_m), thick), "drivetrain")
    yield _rect(back, high - across / 2, (long, across), "generator")
    for wheel in figure.wheels:
        radius, width = _mm(wheel.radius_m), _mm(wheel.width_m)
        left, top = nose + _mm(wheel.place_m), axis - _mm(wheel.offset_m) - radius
        yield _rect(left, top, (width, 2 * radius), "drivetrain")


def _breeze(frame, nose):
    """Three arrows of wind."""
    reach = frame.axis - 2.2 * frame.letters
    for share in (-0.6, 0.0, 0.6):
        y, left, right = frame.axis + share * reach, -frame.half + 6, nose - 0.35 * (frame.half + nose)
        tip, wing = f"{_n(right)},{_n(y)}", 0.3 * frame.letters
        head = f'<polygon points="{tip} {_n(right - 2 * wing)},{_n(y - wing)} {_n(right - 2 * wing)},{_n(y + wing)}" '
        yield _line(left, y, right - wing, y, width=4, colour=look.colour("wind"))
        yield f'{head}fill="{look.colour("wind")}"/>'


def _paint(group):
    return f'fill="{look.colour(group)}" stroke="{look.PAPER}" stroke-width="1"'


def _rect(x, y, size, group):
    width, height = size
    return f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(width)}" height="{_n(height)}" {_paint(group)}/>'


def _circle(x, y, radius, group):
    paint = _paint(group) if group else f'fill="{look.PAPER}"'
    return f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{_n(radius)}" {paint}/>'


def _line(x1, y1, x2, y2, *, width=1, colour=_INK):
    ends = f'x1="{_n(x1)}" y1="{_n(y1)}" x2="{_n(x2)}" y2="{_n(y2)}"'
    return f'<line {ends} stroke="{colour}" stroke-width="{_n(width)}"/>'


def _mm(size):
    return 1000.0 * size


def _n(number):
    return f"{number:.2f}".rstrip("0").rstrip(".")
