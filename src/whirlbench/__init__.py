"""Whirlbench: from the wind to the meter to the next move, for bench-top model wind turbines."""

__version__ = "0.1.0"
