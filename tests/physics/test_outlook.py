"""The page's quick bands against the full prediction: the same best estimate, bands as wide to a tenth."""

import pytest
from turbines import BUILDS, example

from whirlbench.actions.outlook import outlook
from whirlbench.actions.predict import predict
from whirlbench.parts.plain import text_of


@pytest.mark.parametrize("name", BUILDS)
def test_the_quick_outlook_is_near_the_full_prediction(name):
    near = outlook(text_of(example(name)), {}, [0.8, 1.0])
    full = predict(example(name), [one.wind_speed_m_s for one in near.points])
    for quick, slow in zip(near.points, full.points, strict=True):
        assert quick.electrical_power_W == pytest.approx(slow.electrical_power_W, rel=1e-9)
        assert quick.rotor_speed_rad_s == pytest.approx(slow.rotor_speed_rad_s, rel=1e-9)
        assert quick.start_chance == pytest.approx(slow.start_chance, abs=0.04)
        assert quick.symptom == slow.symptom
        width = slow.electrical_power_high_W - slow.electrical_power_low_W
        assert quick.electrical_power_low_W == pytest.approx(slow.electrical_power_low_W, abs=0.1 * width)
        assert quick.electrical_power_high_W == pytest.approx(slow.electrical_power_high_W, abs=0.1 * width)
        assert quick.electrical_power_sd_W == pytest.approx(slow.electrical_power_sd_W, rel=0.1)


def test_the_turbines_own_wind_is_exactly_its_own():
    (alone,) = outlook(text_of(example("starter")), {}, [1.0]).points
    (own,) = predict(example("starter")).points
    assert alone.wind_speed_m_s == own.wind_speed_m_s
