"""Readings to numbers with doubt."""
