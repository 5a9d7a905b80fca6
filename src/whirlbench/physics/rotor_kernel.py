"""Compiled kernel: blade-element momentum balance of every station at every tip-speed ratio.

At one inflow angle the balance is linear in the station's speed ratio, so nothing is searched for: one sweep over the
knots of the polar gives the speed ratio that each inflow angle balances, the branch rule picks the cell between two
knots that holds the solution, the residual at its two ends confirms it, and two or three steps inside it finish the
work. No step leaves the cell, so a solution on another branch cannot be taken by accident. Two solutions closer than
one cell of the polar are not told apart.

Residual (times the speed ratio, finite at standstill), after Ning 2014 with Buhl's high-thrust relation:
``f = x sin(phi) h - cos(phi) + sigma c_t / (4 F sin(phi))`` with ``x`` the speed ratio and ``h = 1 / (1 - a)``.
"""

import math

import numpy as np
from numba import njit

RUNNING, STARTING = 0, 1
_SMALL_ANGLES = (1e-6, 1e-4, 1e-3, 4e-3)
_LAST_ANGLE = math.pi - 1e-6
_ENOUGH = 1e-11
_FAR = 36.0  # exp(-36) is below the last digit of 1
_LOSS_CELLS_PER_UNIT = 64.0


def _loss_table():
    """Cubic pieces of ``2/pi acos(exp(-u^2))`` over the root ``u`` of Prandtl's exponent, good to 1e-10.

    The root makes it smooth at the blade's end; four polynomial terms cost a tenth of acos and exp.
    """
    u = np.arange(math.sqrt(_FAR) * _LOSS_CELLS_PER_UNIT + 2.0) / _LOSS_CELLS_PER_UNIT
    value = 2.0 / math.pi * np.arccos(np.exp(-(u**2)))
    gap = np.sqrt(-np.expm1(-2.0 * u**2))  # the root of 1 - exp(-2 u^2), about sqrt(2) u near 0
    at_end = gap == 0.0
    slope = 2.0 / math.pi * np.where(at_end, math.sqrt(2.0), 2.0 * u * np.exp(-(u**2)) / np.where(at_end, 1.0, gap))
    slope /= _LOSS_CELLS_PER_UNIT
    rise, left, right = np.diff(value), slope[:-1], slope[1:]
    return np.column_stack([value[:-1], left, 3.0 * rise - 2.0 * left - right, left + right - 2.0 * rise])


_LOSS = _loss_table()
_COMPILED = {"cache": True, "nogil": True, "error_model": "numpy"}  # no zero check at every division
_INLINED = {**_COMPILED, "forceinline": True}


@njit(**_INLINED)
def _place(polar, alpha):
    """Where an angle of attack lies among the polar's knots: number of the knot below, and the share of the cell."""
    cell_of, alphas = polar[:2]
    if alpha > math.pi:
        alpha -= 2.0 * math.pi
    turn = alpha / (2.0 * math.pi) + 0.5
    j = cell_of[min(max(int(turn * cell_of.size), 0), cell_of.size - 1)]
    return j, (alpha - alphas[j]) / (alphas[j + 1] - alphas[j])


@njit(**_INLINED)
def _section(polar, place, log_reynolds):
    """Lift coefficient and logarithm of the drag coefficient: bilinear in angle and ln(Re)."""
    _, _, log_re_first, log_re_step, lift, log_drag = polar
    j, u = place
    position = min(max((log_reynolds - log_re_first) / log_re_step, 0.0), lift.shape[0] - 1.0)
    i = min(int(position), lift.shape[0] - 2)
    v = position - i
    a, b, c, d = (1 - v) * (1 - u), (1 - v) * u, v * (1 - u), v * u
    cl = a * lift[i, j] + b * lift[i, j + 1] + c * lift[i + 1, j] + d * lift[i + 1, j + 1]
    return cl, a * log_drag[i, j] + b * log_drag[i, j + 1] + c * log_drag[i + 1, j] + d * log_drag[i + 1, j + 1]


@njit(**_INLINED)
def _loss(exponent, s):
    """Prandtl's loss factor at one end of the blade, where the sine of the inflow angle is ``s``."""
    if not 0.0 <= exponent < _FAR * s:
        return 1.0
    position = math.sqrt(exponent / s) * _LOSS_CELLS_PER_UNIT
    i = int(position)
    t = position - i
    return _LOSS[i, 0] + t * (_LOSS[i, 1] + t * (_LOSS[i, 2] + t * _LOSS[i, 3]))


@njit(**_INLINED)
def _inflow(phi, station):
    """Sine and cosine of an inflow angle, and Prandtl's tip times hub loss factor there."""
    s = math.sin(phi)
    return s, math.cos(phi), max(_loss(station[2], s) * _loss(station[3], s), 1e-6)


@njit(**_INLINED)
def _balance(inflow, cl, cd, solidity):
    """Slope and level of the residual ``f = speed_ratio * slope - level`` at one inflow angle, and ``h``."""
    s, c, factor = inflow
    share = solidity / (4.0 * factor * s)
    k = share * (cl * c + cd * s) / s
    excess = k - 2.0 / 3.0
    h = 1.0 + k if excess <= 0.0 else 5.0 / 3.0 - factor + math.sqrt(factor * factor + 2.0 * factor * excess)
    return s * h, c - share * (cl * s - cd * c), h


@njit(**_COMPILED)
def _line(phi, station, polar, log_reynolds):
    """As ``_balance``, from the inflow angle alone."""
    cl, log_cd = _section(polar, _place(polar, phi - station[0]), log_reynolds)
    return _balance(_inflow(phi, station), cl, math.exp(log_cd), station[1])


@njit(**_COMPILED)
def _knots(pitch, alphas):
    """Inflow angles to sweep: the polar's own knots seen from the rotor plane, and a few near zero."""
    knots = np.empty(2 * alphas.size + len(_SMALL_ANGLES) + 1)
    count, small = 0, 0
    for turn in (0.0, 2.0 * math.pi):
        for alpha in alphas:
            phi = alpha + pitch + turn
            while small < len(_SMALL_ANGLES) and _SMALL_ANGLES[small] < phi:
                knots[count] = _SMALL_ANGLES[small]
                count, small = count + 1, small + 1
            if count > 0 and knots[count - 1] < phi < _LAST_ANGLE:
                knots[count] = phi
                count += 1
    knots[count] = _LAST_ANGLE
    return knots[: count + 1]


@njit(**_COMPILED)
def _sweep(knots, station, polar, log_reynolds_still):
    """Inflow of every knot, shape (k, 3), and the speed ratio it balances: below that the residual is negative."""
    inflows, balanced = np.empty((knots.size, 3)), np.empty(knots.size)
    for j in range(knots.size):
        inflows[j, 0], inflows[j, 1], inflows[j, 2] = _inflow(knots[j], station)
    ratio, growth = 40.0, 1.0
    for j in range(knots.size):
        inflow = inflows[j, 0], inflows[j, 1], inflows[j, 2]
        last = ratio
        ratio *= growth
        for _ in range(5):  # Re follows the speed ratio found
            before = ratio
            cl, log_cd = _section(polar, _place(polar, knots[j] - station[0]), log_reynolds_still + _log_speed(ratio))
            slope, level, _ = _balance(inflow, cl, math.exp(log_cd), station[1])
            balanced[j] = level / slope if slope > 0.0 else math.copysign(math.inf, level)
            ratio = min(max(balanced[j], 0.01), 40.0)
            if abs(ratio - before) < 0.002 * ratio + 0.001:
                break
        growth = min(max(ratio / last, 0.5), 1.5)
    return inflows, balanced


@njit(**_INLINED)
def _log_speed(ratio):
    """Logarithm of the air's speed past a station over that of the wind, without induction."""
    return 0.5 * math.log(1.0 + ratio * ratio)


@njit(**_COMPILED)
def _envelope(balanced, branch):
    """Falling envelope of the balanced ratios: its last knot above a ratio opens the branch's cell.

    Running is the lowest cell with a solution, the first fall below the ratio; starting the highest, the last fall.
    """
    envelope = balanced.copy()
    if branch == RUNNING:
        for j in range(1, envelope.size):
            envelope[j] = min(envelope[j], envelope[j - 1])
    else:
        for j in range(envelope.size - 2, -1, -1):
            envelope[j] = max(envelope[j], envelope[j + 1])
    return envelope


@njit(**_INLINED)
def _cell(envelope, ratio):
    """Last knot whose envelope lies above a speed ratio; -1 for none."""
    low, high = -1, envelope.size
    while high - low > 1:
        middle = (low + high) // 2
        if envelope[middle] > ratio:
            low = middle
        else:
            high = middle
    return low


@njit(**_INLINED)
def _end(j, ratio, sweep, station, polar, log_reynolds):
    """Residual, lift and logarithm of drag at a knot."""
    knots, inflows = sweep
    cl, log_cd = _section(polar, _place(polar, knots[j] - station[0]), log_reynolds)
    inflow = inflows[j, 0], inflows[j, 1], inflows[j, 2]
    slope, level, _ = _balance(inflow, cl, math.exp(log_cd), station[1])
    return ratio * slope - level, cl, log_cd


@njit(**_COMPILED)
def _scanned(ratio, sweep, station, polar, log_reynolds, branch):
    """First knot of the branch's cell by the residual at every knot; -1 where no cell holds a solution."""
    found = -1
    before = 1.0
    for j in range(sweep[0].size):
        after, _, _ = _end(j, ratio, sweep, station, polar, log_reynolds)
        if before < 0.0 and after >= 0.0:
            found = j - 1
            if branch == RUNNING:
                break
        before = after
    return found


@njit(**_INLINED)
def _polished(j, ratio, sweep, station, polar, log_reynolds):
    """Inflow angle, residual and loads in cell ``j``; residual 1 where its ends do not hold a solution between them.

    Newton steps with the slope of the parabola through the last three points, halving where one would leave.
    """
    knots = sweep[0]
    first, second = knots[j], knots[j + 1]
    f_first, cl_low, log_cd_low = _end(j, ratio, sweep, station, polar, log_reynolds)
    f_second, cl_high, log_cd_high = _end(j + 1, ratio, sweep, station, polar, log_reynolds)
    if f_first >= 0.0 or f_second < 0.0:
        return first, 1.0, (0.0, 0.0, 0.0)
    low, high, width = first, second, second - first
    phi = low - f_first * width / (f_second - f_first)
    for _ in range(80):
        u = (phi - knots[j]) / width  # between two knots the polar is a straight line
        cl = cl_low + u * (cl_high - cl_low)
        cd = math.exp(log_cd_low + u * (log_cd_high - log_cd_low))
        inflow = _inflow(phi, station)
        slope, level, h = _balance(inflow, cl, cd, station[1])
        f = ratio * slope - level
        if abs(f) < _ENOUGH or high - low < 1e-15:
            break
        if f < 0.0:
            low = phi
        else:
            high = phi
        chord, before = (f - f_second) / (phi - second), (f_second - f_first) / (second - first)
        tangent = chord + (chord - before) / (phi - first) * (phi - second)
        first, f_first, second, f_second = second, f_second, phi, f
        phi -= f / tangent
        if not low < phi < high:
            phi = 0.5 * (low + high)
    return phi, f, _loads(inflow, h, cl, cd, station[1])


@njit(**_INLINED)
def _loads(inflow, h, cl, cd, solidity):
    """Thrust and torque loading of an annulus, and drag's share of torque."""
    s, c, _ = inflow
    scale = solidity / (h * s) ** 2
    return scale * (cl * c + cd * s), scale * (cl * s - cd * c), scale * cd * c


@njit(**_COMPILED)
def _solution(j, ratio, sweep, station, polar, log_reynolds_still, branch):
    """Inflow angle, residual and loads on a branch, from the cell that the sweep points to."""
    log_reynolds = log_reynolds_still + _log_speed(ratio)
    phi, f, loads = sweep[0][0], 1.0, (0.0, 0.0, 0.0)
    if 0 <= j < sweep[0].size - 1:
        phi, f, loads = _polished(j, ratio, sweep, station, polar, log_reynolds)
    if f == 1.0:  # the sweep's Re was a little off, and the crossing lies beyond a knot of the cell
        j = _scanned(ratio, sweep, station, polar, log_reynolds, branch)
        if j >= 0:
            phi, f, loads = _polished(j, ratio, sweep, station, polar, log_reynolds)
    return phi, f, loads


@njit(**_COMPILED)
def station_state(inflow_angle, speed_ratio, station, polar, log_reynolds):
    """Return what the air does to one annulus at an inflow angle.

    Parameters
    ----------
    inflow_angle : float
        Inflow angle [rad].
    speed_ratio : float
        Local speed ratio [-].
    station, polar
        As in ``solve_annulus``.
    log_reynolds : float
        ln(Re) of the station [-].

    Returns
    -------
    tuple of 5 floats
        Induction, swirl induction, thrust and torque loading of the annulus, drag's share of the torque [-].
    """
    cl, log_cd = _section(polar, _place(polar, inflow_angle - station[0]), log_reynolds)
    inflow, cd = _inflow(inflow_angle, station), math.exp(log_cd)
    _, _, h = _balance(inflow, cl, cd, station[1])
    swirl = inflow[1] / (h * inflow[0] * speed_ratio) - 1.0 if speed_ratio > 0.0 else math.inf
    thrust, torque, drag = _loads(inflow, h, cl, cd, station[1])
    return 1.0 - 1.0 / h, swirl, thrust, torque, drag


@njit(**_COMPILED)
def solve_annulus(station, speed_ratio, polar, log_reynolds_still, branch):
    """Inflow angle and residual of one annulus at one speed ratio on one branch.

    Parameters
    ----------
    station : tuple of 4 floats
        Pitch from the rotor plane [rad], solidity [-], tip and hub loss exponents (negative: loss off).
    speed_ratio : float
        Local speed ratio [-].
    polar : tuple
        Kernel form of a polar table.
    log_reynolds_still : float
        ln(Re) of the station at standstill.
    branch : int
        RUNNING or STARTING.

    Returns
    -------
    tuple of 2 floats
        Inflow angle [rad] and the residual left.
    """
    knots = _knots(station[0], polar[1])
    inflows, balanced = _sweep(knots, station, polar, log_reynolds_still)
    j = _cell(_envelope(balanced, branch), speed_ratio)
    phi, f, _ = _solution(j, speed_ratio, (knots, inflows), station, polar, log_reynolds_still, branch)
    return phi, f


@njit(**_COMPILED)
def _add_station(tip_speed_ratios, place, station, polar, log_reynolds_still, out):
    """Add one station's thrust, torque and drag torque at every tip-speed ratio and branch to ``out``.

    Parameters
    ----------
    tip_speed_ratios : array, shape (n,)
        Tip-speed ratios [-].
    place : tuple of 2 floats
        Radius and width of the station over the rotor radius [-].
    station, polar, log_reynolds_still
        As in ``solve_annulus``.
    out : array, shape (2, n, 4)
        Per branch: thrust, torque, drag torque coefficients and the number of unresolved stations; added to.
    """
    x, width = place
    area = 2.0 * x * width
    knots = _knots(station[0], polar[1])
    inflows, balanced = _sweep(knots, station, polar, log_reynolds_still)
    envelopes = _envelope(balanced, RUNNING), _envelope(balanced, STARTING)
    for i in range(tip_speed_ratios.size):
        ratio = tip_speed_ratios[i] * x
        last = -2
        for branch in range(2):
            j = _cell(envelopes[branch], ratio)
            if j != last:
                last = j
                _, f, loads = _solution(j, ratio, (knots, inflows), station, polar, log_reynolds_still, branch)
            thrust, torque, drag = loads
            out[branch, i, 0] += area * thrust
            out[branch, i, 1] += area * x * torque
            out[branch, i, 2] += area * x * drag
            out[branch, i, 3] += abs(f) > 1e-6


@njit(**_COMPILED)
def rotor_coefficients(tip_speed_ratios, places, stations, log_reynolds_still, polar_index, polars):
    """Thrust, torque and drag-torque coefficients of one rotor on both branches.

    Parameters
    ----------
    tip_speed_ratios : array, shape (n,)
        Tip-speed ratios [-].
    places : array, shape (m, 2)
        Radius and width of each station over the rotor radius [-].
    stations : array, shape (m, 4)
        Pitch [rad], solidity, tip and hub loss exponent of each station.
    log_reynolds_still : array, shape (m,)
        ln(Re) of each station at standstill.
    polar_index : array of int, shape (m,)
        Polar of each station.
    polars : tuple
        Cell index, angles, first ln(Re) and its step, then lift and ln(drag) stacked over polars.

    Returns
    -------
    array, shape (2, n, 4)
        Per branch: thrust, torque, drag-torque coefficient, number of unresolved stations.
    """
    cell_of, alphas, log_re_first, log_re_step, lift, log_drag = polars
    out = np.zeros((2, tip_speed_ratios.size, 4))
    for m in range(places.shape[0]):
        polar = (cell_of, alphas, log_re_first, log_re_step, lift[polar_index[m]], log_drag[polar_index[m]])
        station = (stations[m, 0], stations[m, 1], stations[m, 2], stations[m, 3])
        _add_station(tip_speed_ratios, (places[m, 0], places[m, 1]), station, polar, log_reynolds_still[m], out)
    return out
