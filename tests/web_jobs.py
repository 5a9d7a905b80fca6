"""Work that the tests of the workers have done in a worker process."""

import time


def slow_sum(*numbers, tick, cancelled):
    """A job that writes a line to a file each time it is made."""
    place, *numbers = numbers
    with open(place, "a", encoding="utf-8") as made:
        made.write("made\n")
    tick("adding", 0.5)
    return str(sum(numbers))


def until_stopped(place, *, tick, cancelled):
    """A job that tells how far it is and ends when it is asked to, or when the file is there."""
    tick("waiting for the file", 0.5)
    while not cancelled():
        try:
            with open(place, encoding="utf-8"):
                return "whole"
        except FileNotFoundError:
            time.sleep(0.02)
    return "cut short"
