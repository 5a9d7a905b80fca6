"""How far to trust a prediction: what lies outside the ground that the models stand on."""

import numpy as np

from whirlbench import units
from whirlbench.physics import coil, wire
from whirlbench.predict import drivetrain

_MANY_BLADES = 8
_HIGH_SOLIDITY = 0.5
_DEEP_SLOW = 2e4  # chord Reynolds number below which no measured section stands behind the polars


def warnings(assembly, prediction):
    """Sentences on what makes this prediction less sure than its band says.

    Parameters
    ----------
    assembly : Assembly
        The turbine.
    prediction : Prediction
        Its state in a wind.

    Returns
    -------
    tuple of str
        Empty where nothing stands out.
    """
    return tuple(
        text for check in (_rotor, _blockage, _gears, _winding, _stand) for text in check(assembly, prediction)
    )


def _rotor(assembly, prediction):
    shape = assembly.shape
    if shape.blade_count >= _MANY_BLADES or shape.solidity > _HIGH_SOLIDITY:
        yield (
            f"{shape.blade_count} blades cover {100 * shape.solidity:.0f} % of the disc: no published check exists for "
            "such a crowded rotor at this size, so take a reading before you build on it."
        )
    speed = np.hypot(prediction.wind_speed, 0.7 * shape.radius * prediction.rest.rotor_speed[0])
    chord = float(np.interp(0.7 * shape.radius, shape.station_radius, shape.chord))
    reynolds = assembly.air.density * speed * chord / assembly.air.viscosity
    if reynolds < _DEEP_SLOW:
        yield (
            f"The blades work at a chord Reynolds number of about {reynolds:,.0f}, below every measured section: "
            "the band of lift and drag is wide."
        )
    crowding = shape.blade_count * shape.chord[0] / (2 * np.pi * shape.station_radius[0])
    if crowding > 1.0:
        yield "At their inner ends the blades are wider than the room between them: they overlap."
    if prediction.curve.unresolved > 0.05:
        yield "Some blade stations have no steady solution here; the curve is rough."


def _blockage(assembly, prediction):
    if assembly.turbine.wind.kind != "tunnel":
        return
    ratio = prediction.free_air_speed[0] / (prediction.wind_speed * assembly.worlds.factor("wind")[0, 0])
    if ratio > 1.01:
        yield (
            f"The tunnel walls lift the result: in free air the same power needs {100 * (ratio - 1):.0f} % more wind "
            f"({100 * (ratio**3 - 1):.0f} % in power)."
        )


def _gears(assembly, prediction):
    for stage in assembly.turbine.drivetrain:
        if stage.kind != "gears":
            continue
        mesh = drivetrain.mesh(stage)
        if mesh.contact_ratio_real < 1.1:
            needs = "does not mesh without gaps" if mesh.contact_ratio_real < 1 else "barely meshes"
            yield (
                f"{drivetrain.label(stage)} {needs}: real contact ratio {mesh.contact_ratio_real:.2f} "
                f"(by formula {mesh.contact_ratio:.2f}). Shift the pinion's profile or take more teeth."
            )


def _winding(assembly, prediction):
    part = assembly.turbine.generator
    if part.kind != "wound":
        return
    wire_diameter = wire.enamelled_diameter(wire.gauge_diameter(part.gauge))
    fit = coil.winding_fit(
        part.turns,
        wire_diameter,
        window_width=part.distance_far - part.distance_near,
        window_depth=part.coil_outer_radius - part.coil_inner_radius,
    )
    if not fit.fits:
        needed = units.plain(fit.depth, "mm")
        room = units.plain(part.coil_outer_radius - part.coil_inner_radius, "mm")
        yield (
            f"The winding does not fit: {part.turns} turns of this wire need {needed} of depth, "
            f"the former gives {room}. Fewer turns or thinner wire."
        )


def _stand(assembly, prediction):
    thrust = prediction.rest.thrust[:1, None]
    best = assembly.worlds.log_factors[:1]
    only = type(assembly.worlds)(best)
    slide = float(assembly.stand.sliding_safety(thrust, only)[0, 0])
    tip = float(assembly.stand.tipping_safety(thrust)[0, 0])
    if min(slide, tip) < 1.0:
        how = "slides" if slide < tip else "tips over"
        yield f"The stand {how} in this wind: it holds {min(slide, tip):.2f} of the push of {thrust[0, 0]:.1f} N."
