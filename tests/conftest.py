"""What all tests share: hypothesis without a stopwatch and without chance, so that every run is the same run."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "house",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=60,
    print_blob=False,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")
