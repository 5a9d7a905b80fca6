"""What each number of the workbench means, at three depths, with its formula and where that comes from."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Meaning:
    """Words about one quantity.

    Attributes
    ----------
    title, symbol, unit : str
        Its name, its letter, and the unit it is shown in.
    formula : str
        How it follows from others; a capital letter first.
    plain, school, engineer : str
        What it is: for a child, for a lesson, for somebody who builds such things.
    source : str
        Where the formula and the method come from.
    """

    title: str
    symbol: str
    unit: str
    formula: str
    plain: str
    school: str
    engineer: str
    source: str


_BALANCE = (
    "The whole-machine balance of this program: rotor torque against what drivetrain, generator and load ask for."
)
_BLADE_ELEMENTS = (
    "Blade-element momentum method: Glauert, Airplane Propellers, 1935; Ning, A simple solution method for the "
    "blade-element momentum equations, Wind Energy 17 (2014)."
)
_OHM = "Ohm's law and the equivalent circuit of a permanent-magnet machine, in any textbook of electrical engineering."

MEANINGS = {
    "density": Meaning(
        title="Density of the air",
        symbol="ρ",
        unit="kg/m^3",
        formula="ρ = p / (R · T), a little less for moist air",
        plain="Air weighs something. A box of air one metre wide, deep and high weighs a bit more than a kilogram.",
        school="Cold air at high pressure is dense, warm air on a mountain is thin. The wind's power grows with "
        "density.",
        engineer="Ideal gas with the partial pressure of water vapour. Station pressure counts, not that of the "
        "weather report, which is reduced to sea level.",
        source="U.S. Standard Atmosphere, 1976; the formula of moist air by way of the saturation vapour pressure.",
    ),
    "wind_power": Meaning(
        title="Power of the wind",
        symbol="P_wind",
        unit="W",
        formula="P_wind = ½ · ρ · π R² · v³",
        plain="This is all that the wind carries through the circle your blades sweep. No turbine can take all of it.",
        school="Twice the wind brings eight times the power, because more air comes and each bit of it is "
        "faster. Twice the radius brings four times the area.",
        engineer="Kinetic-energy flux of the free stream through the disc. In a fan's jet the speed is the cube "
        "mean of the map over the disc; its doubt counts threefold.",
        source="Kinetic energy of moving air, in any textbook on wind energy.",
    ),
    "power_coefficient": Meaning(
        title="Share of the wind's power that the blades take",
        symbol="Cp",
        unit="",
        formula="Cp = rotor power / P_wind",
        plain="Of ten parts of the wind's power the blades catch only some. The rest blows on behind the rotor.",
        school="Even a perfect rotor takes at most 59 %: if it took all, the air behind it would stand still and"
        " block the way.",
        engineer="From blade elements with tip and hub loss, polars for the blades' own Reynolds numbers, and "
        "momentum beyond high loading by an empirical curve. Referred to the free-air speed.",
        source=_BLADE_ELEMENTS + " The limit 16/27: Betz, 1920.",
    ),
    "tip_speed_ratio": Meaning(
        title="Tip-speed ratio",
        symbol="λ",
        unit="",
        formula="λ = ω · R / v",
        plain="It says how many times faster the blade tips fly than the wind blows.",
        school="Every rotor has a ratio at which it works best. Many broad blades at a steep angle like a low "
        "one, few slender blades at a flat angle a high one.",
        engineer="With the pitch it fixes the angle of attack along the blade. Match load and gearing so that the "
        "rotor runs near the ratio where Cp is largest.",
        source="Definition, in any textbook on wind energy.",
    ),
    "rotor_speed": Meaning(
        title="Speed of the rotor",
        symbol="ω",
        unit="rpm",
        formula="M_rotor(ω) = M_drivetrain + i · M_generator(i · ω)",
        plain="The rotor speeds up until the wind's push on the blades and the brake of the generator are "
        "equally strong.",
        school="Where the two torque curves cross, the speed stays. A heavier load brakes more and the rotor "
        "settles at a lower speed.",
        engineer="Lowest stable crossing that is reached from rest, on the rotor's own torque curve. There may be "
        "a second, faster one that only a push reaches.",
        source=_BALANCE,
    ),
    "torque": Meaning(
        title="Torque of the rotor",
        symbol="M",
        unit="mN*m",
        formula="M = rotor power / ω",
        plain="It is how hard the rotor twists its shaft, like a hand that turns a screwdriver.",
        school="Torque is force times lever arm. Power is torque times speed: the same power may come as a "
        "strong slow twist or as a weak fast one.",
        engineer="Integral of the tangential force of the blade elements times their radius, less the drag of bare"
        " rods.",
        source=_BLADE_ELEMENTS,
    ),
    "step_up": Meaning(
        title="Step-up of the drivetrain",
        symbol="i",
        unit="",
        formula="i = ω_generator / ω, the product of the ratios of all stages",
        plain="It says how often the generator turns while the rotor turns once.",
        school="Small motors like to turn fast, rotors turn slowly. Gears trade torque for speed, and each pair "
        "keeps a little for itself.",
        engineer="Of a belt the ratio of effective diameters less creep. A larger ratio raises the volts and "
        "multiplies the friction that the rotor must overcome to start.",
        source="Kinematics of gears and belts.",
    ),
    "emf": Meaning(
        title="Voltage that the generator makes inside",
        symbol="E",
        unit="V",
        formula="E = k · ω_generator",
        plain="The faster the generator turns, the more volts it makes.",
        school="Magnets that pass a coil make a voltage in it, in step with their speed. You see all of it at "
        "the terminals only while no current flows.",
        engineer="Open-circuit EMF constant times shaft speed; the peak for alternating current.",
        source="Faraday's law of induction; the constant from the part itself.",
    ),
    "voltage": Meaning(
        title="Voltage at your load",
        symbol="U",
        unit="V",
        formula="U = E − I · R_winding − what brushes and diodes drop",
        plain="This is what your voltmeter shows across the load.",
        school="The wire inside the generator keeps a part of the volts for itself, the more the larger the current.",
        engineer="Brush and diode drops are subtracted where there are such. Behind a bridge the meter reads the mean.",
        source=_OHM,
    ),
    "current": Meaning(
        title="Current through your load",
        symbol="I",
        unit="mA",
        formula="I = U / R_load",
        plain="It is how much electricity flows through the load each second.",
        school="Fewer ohms let more current flow. The current also brakes the generator: torque and current go "
        "together.",
        engineer="The generator's electrical torque is k · I. With LEDs the current follows from their own curve.",
        source=_OHM,
    ),
    "power": Meaning(
        title="Power into your load",
        symbol="P",
        unit="W",
        formula="P = U · I",
        plain="This is what you get: what your load can use each second.",
        school="Read the volts and the amperes at the load and multiply them. Everything on the way from the "
        "wind took its part before.",
        engineer="Best estimate of the balance. The band is what 65 believed worlds give, in which wind, polars, "
        "friction and generator differ as far as they are in doubt.",
        source=_BALANCE,
    ),
    "start": Meaning(
        title="Start by itself",
        symbol="M_0",
        unit="mN*m",
        formula="It starts where the wind's torque at rest is larger than the torque that breaking away takes",
        plain="At the start nothing helps but the wind's push on blades that stand still. If friction is "
        "stronger, you have to push.",
        school="At rest the air meets the blades at a steep angle, so they work poorly. A larger pitch and "
        "broader blades help to start; gears make it harder, because the rotor has to turn the "
        "generator's friction with the short lever.",
        engineer="Standstill torque from stalled blade elements against breakaway friction of bearings, teeth and "
        "generator, seen at the rotor's shaft. Its doubt is large: some 30 %.",
        source=_BLADE_ELEMENTS + " Breakaway torques from the parts.",
    ),
    "thrust": Meaning(
        title="Push of the wind on the rotor",
        symbol="T",
        unit="N",
        formula="T = ½ · ρ · π R² · v² · Ct",
        plain="The wind pushes the whole turbine backwards. That is why the base must be heavy or wide.",
        school="Taking power from the wind slows it down, and slowing it takes a force. It acts high up, with "
        "the tower as a lever.",
        engineer="Axial force of the blade elements. It tilts the axis by the bending of the tube and the give of "
        "its foot joint.",
        source=_BLADE_ELEMENTS,
    ),
    "energy": Meaning(
        title="Energy in the scored time",
        symbol="W",
        unit="J",
        formula="W = sum of P over the time, from letting go",
        plain="It is all that your load gets while the clock runs, the slow first seconds too.",
        school="Energy is power times time. A light rotor is up to speed sooner and collects more.",
        engineer="The speed-up is integrated with the inertia of all that turns, on the same torque curves.",
        source="Newton's second law for turning bodies.",
    ),
}
