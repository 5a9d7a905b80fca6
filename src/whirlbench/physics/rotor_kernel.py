"""Compiled kernel: blade-element momentum balance of every station at every tip-speed ratio.

At one inflow angle the balance is linear in the station's speed ratio, so nothing is searched for:
one sweep over the angles gives the two coefficients ``(slope, level)`` of that line at every knot, the sign of
``speed_ratio * slope - level`` shows every cell that holds a solution, the branch rule picks the cell, and
a few secant steps inside it finish the work. A step that leaves its cell is repaired in that cell, never outside,
so a solution on another branch cannot be taken by accident.

Residual (times the speed ratio, finite at standstill), after Ning 2014 with Buhl's high-thrust relation:
``f = x sin(phi) h - cos(phi) + sigma c_t / (4 F sin(phi))`` with ``x`` the speed ratio and ``h = 1 / (1 - a)``.
"""

import math

import numpy as np
from numba import njit

RUNNING, STARTING = 0, 1
_SMALL_ANGLES = np.array([1e-6, 1e-4, 1e-3, 4e-3])
_ENOUGH = 1e-11


@njit(cache=True, nogil=True)
def _section(polar, alpha, log_reynolds):
    """Lift and drag coefficient: bilinear in angle and ln(Re), drag through its logarithm."""
    cell_of, alphas, log_re_first, log_re_step, lift, log_drag = polar
    turn = alpha / (2.0 * math.pi) + 0.5
    j = cell_of[min(max(int(turn * cell_of.size), 0), cell_of.size - 1)]
    u = (alpha - alphas[j]) / (alphas[j + 1] - alphas[j])
    position = min(max((log_reynolds - log_re_first) / log_re_step, 0.0), lift.shape[0] - 1.0)
    i = min(int(position), lift.shape[0] - 2)
    v = position - i
    a, b, c, d = (1 - v) * (1 - u), (1 - v) * u, v * (1 - u), v * u
    cl = a * lift[i, j] + b * lift[i, j + 1] + c * lift[i + 1, j] + d * lift[i + 1, j + 1]
    cd = a * log_drag[i, j] + b * log_drag[i, j + 1] + c * log_drag[i + 1, j] + d * log_drag[i + 1, j + 1]
    return cl, math.exp(cd)


@njit(cache=True, nogil=True)
def _loss_factor(sin_phi, tip, hub):
    """Prandtl's tip times hub loss factor."""
    factor = 1.0
    if tip >= 0.0:
        factor *= 2.0 / math.pi * math.acos(math.exp(-tip / sin_phi))
    if hub >= 0.0:
        factor *= 2.0 / math.pi * math.acos(math.exp(-hub / sin_phi))
    return max(factor, 1e-6)


@njit(cache=True, nogil=True)
def _line(phi, station, polar, log_reynolds):
    """Slope and level of the residual ``f = speed_ratio * slope - level`` at one inflow angle, and ``h``."""
    pitch, solidity, tip, hub = station
    s, c = math.sin(phi), math.cos(phi)
    cl, cd = _section(polar, phi - pitch, log_reynolds)
    factor = _loss_factor(s, tip, hub)
    k = solidity * (cl * c + cd * s) / (4.0 * factor * s * s)
    excess = k - 2.0 / 3.0
    h = 1.0 + k if excess <= 0.0 else 5.0 / 3.0 - factor + math.sqrt(factor * factor + 2.0 * factor * excess)
    return s * h, c - solidity * (cl * s - cd * c) / (4.0 * factor * s), h


@njit(cache=True, nogil=True)
def _knots(pitch, alphas, knots):
    """Inflow angles to sweep: the polar's own knots seen from the rotor plane, and a few near zero."""
    n = 0
    for angle in _SMALL_ANGLES:
        knots[n] = angle
        n += 1
    for alpha in alphas:
        phi = alpha + pitch
        if phi > 5e-3 and phi < math.pi - 1e-3:
            knots[n] = phi
            n += 1
    knots[n] = math.pi - 1e-6
    return n + 1


@njit(cache=True, nogil=True)
def _sweep(knots, count, station, polar, log_re_still, slope, level):
    """Fill slope and level at every knot; Re follows the speed ratio found at the knot before."""
    ratio = 20.0
    for j in range(count):
        log_reynolds = log_re_still + 0.5 * math.log(1.0 + ratio * ratio)
        slope[j], level[j], _ = _line(knots[j], station, polar, log_reynolds)
        if slope[j] > 0.0:
            ratio = min(max(level[j] / slope[j], 0.0), 20.0)


@njit(cache=True, nogil=True)
def _cell(slope, level, count, ratio, branch):
    """First knot of the cell that holds the branch's solution: lowest angle running, highest starting; -1 none."""
    if branch == RUNNING:
        for j in range(count - 1):
            if ratio * slope[j] < level[j] and ratio * slope[j + 1] >= level[j + 1]:
                return j
        return -1
    for j in range(count - 2, -1, -1):
        if ratio * slope[j] < level[j] and ratio * slope[j + 1] >= level[j + 1]:
            return j
    return -1


@njit(cache=True, nogil=True)
def _residual(phi, ratio, station, polar, log_reynolds):
    slope, level, _ = _line(phi, station, polar, log_reynolds)
    return ratio * slope - level


@njit(cache=True, nogil=True)
def _bracketed(low, high, ratio, station, polar, log_reynolds):
    """Solution between two angles by the Illinois rule; the angle nearest to one where the signs agree."""
    f_low = _residual(low, ratio, station, polar, log_reynolds)
    f_high = _residual(high, ratio, station, polar, log_reynolds)
    if f_low * f_high > 0.0:
        return low if abs(f_low) < abs(f_high) else high
    side = 0
    phi = low
    for step in range(80):
        phi = (f_low * high - f_high * low) / (f_low - f_high) if step % 4 < 3 else 0.5 * (low + high)
        f = _residual(phi, ratio, station, polar, log_reynolds)
        if abs(f) < _ENOUGH or high - low < 1e-15:
            break
        if f * f_high > 0.0:
            high, f_high = phi, f
            f_low = 0.5 * f_low if side == 1 else f_low
            side = 1
        else:
            low, f_low = phi, f
            f_high = 0.5 * f_high if side == -1 else f_high
            side = -1
    return phi


@njit(cache=True, nogil=True)
def _polished(j, knots, count, lines, ratio, station, polar, log_reynolds):
    """Solution inside cell ``j``: secant steps from the swept line, repaired by bracketing if they leave it."""
    slope, level = lines
    low, high = knots[j], knots[j + 1]
    f_low, f_high = ratio * slope[j] - level[j], ratio * slope[j + 1] - level[j + 1]
    before, f_before = low, f_low
    phi = low - f_low * (high - low) / (f_high - f_low)
    for _ in range(7):
        f = _residual(phi, ratio, station, polar, log_reynolds)
        if abs(f) < _ENOUGH:
            return phi
        change = f - f_before
        if change == 0.0:
            break
        step = f * (phi - before) / change
        before, f_before = phi, f
        phi -= step
        if phi < low or phi > high:
            break
    phi = _bracketed(low, high, ratio, station, polar, log_reynolds)
    if abs(_residual(phi, ratio, station, polar, log_reynolds)) < 1e-8:
        return phi
    # Re at the knots is that of the sweep: the true crossing may sit just beyond a knot of the cell
    wider_low, wider_high = knots[max(j - 1, 0)], knots[min(j + 2, count - 1)]
    return _bracketed(wider_low, wider_high, ratio, station, polar, log_reynolds)


@njit(cache=True, nogil=True)
def station_state(phi, ratio, station, polar, log_reynolds):
    """Return (induction, swirl induction, thrust and torque loading, drag's share of torque) at an angle."""
    pitch, solidity, _, _ = station
    s, c = math.sin(phi), math.cos(phi)
    cl, cd = _section(polar, phi - pitch, log_reynolds)
    _, _, h = _line(phi, station, polar, log_reynolds)
    speed = 1.0 / (h * s)
    scale = speed * speed * solidity
    swirl = (speed * c / ratio - 1.0) if ratio > 0.0 else math.inf
    return 1.0 - 1.0 / h, swirl, scale * (cl * c + cd * s), scale * (cl * s - cd * c), scale * cd * c


@njit(cache=True, nogil=True)
def solve_annulus(station, ratio, polar, log_re_still, branch):
    """Inflow angle and residual of one annulus at one speed ratio on one branch.

    Parameters
    ----------
    station : tuple of 4 floats
        Pitch from the rotor plane [rad], solidity [-], tip and hub loss exponents (negative: loss off).
    ratio : float
        Local speed ratio [-].
    polar : tuple
        Kernel form of a polar table.
    log_re_still : float
        ln(Re) of the station at standstill.
    branch : int
        RUNNING or STARTING.

    Returns
    -------
    tuple of 2 floats
        Inflow angle [rad] and the residual left.
    """
    knots = np.empty(polar[1].size + 8)
    count = _knots(station[0], polar[1], knots)
    slope, level = np.empty(count), np.empty(count)
    _sweep(knots, count, station, polar, log_re_still, slope, level)
    log_reynolds = log_re_still + 0.5 * math.log(1.0 + ratio * ratio)
    j = _cell(slope, level, count, ratio, branch)
    if j < 0:
        return knots[0], 1.0
    phi = _polished(j, knots, count, (slope, level), ratio, station, polar, log_reynolds)
    return phi, _residual(phi, ratio, station, polar, log_reynolds)


@njit(cache=True, nogil=True)
def add_station(tip_speed_ratios, place, station, polar, log_re_still, out):
    """Add one station's thrust, torque and drag torque at every tip-speed ratio and branch to ``out``.

    Parameters
    ----------
    tip_speed_ratios : array, shape (n,)
        Tip-speed ratios [-].
    place : tuple of 2 floats
        Radius and width of the station over the rotor radius [-].
    station, polar, log_re_still
        As in ``solve_annulus``.
    out : array, shape (2, n, 4)
        Per branch: thrust, torque, drag torque coefficients and the number of unresolved stations; added to.
    """
    x, width = place
    knots = np.empty(polar[1].size + 8)
    count = _knots(station[0], polar[1], knots)
    slope, level = np.empty(count), np.empty(count)
    _sweep(knots, count, station, polar, log_re_still, slope, level)
    for i in range(tip_speed_ratios.size):
        ratio = tip_speed_ratios[i] * x
        log_reynolds = log_re_still + 0.5 * math.log(1.0 + ratio * ratio)
        last, phi = -2, 0.0
        for branch in range(2):
            j = _cell(slope, level, count, ratio, branch)
            if j != last:
                last = j
                phi = knots[0]
                if j >= 0:
                    phi = _polished(j, knots, count, (slope, level), ratio, station, polar, log_reynolds)
                missed = abs(_residual(phi, ratio, station, polar, log_reynolds)) > 1e-6
                _, _, thrust, torque, drag = station_state(phi, ratio, station, polar, log_reynolds)
            out[branch, i, 0] += 2.0 * x * width * thrust
            out[branch, i, 1] += 2.0 * x * x * width * torque
            out[branch, i, 2] += 2.0 * x * x * width * drag
            out[branch, i, 3] += missed


@njit(cache=True, nogil=True)
def rotor_coefficients(tip_speed_ratios, places, stations, log_re_still, which, polars):
    """Thrust, torque and drag-torque coefficients of one rotor on both branches.

    Parameters
    ----------
    tip_speed_ratios : array, shape (n,)
        Tip-speed ratios [-].
    places : array, shape (m, 2)
        Radius and width of each station over the rotor radius [-].
    stations : array, shape (m, 4)
        Pitch [rad], solidity, tip and hub loss exponent of each station.
    log_re_still : array, shape (m,)
        ln(Re) of each station at standstill.
    which : array of int, shape (m,)
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
        polar = (cell_of, alphas, log_re_first, log_re_step, lift[which[m]], log_drag[which[m]])
        station = (stations[m, 0], stations[m, 1], stations[m, 2], stations[m, 3])
        add_station(tip_speed_ratios, (places[m, 0], places[m, 1]), station, polar, log_re_still[m], out)
    return out
