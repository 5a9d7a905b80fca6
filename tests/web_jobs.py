"""Work that the tests of the workers have done in a worker process."""


def slow_sum(*numbers, tick, cancelled):
    """A job that tells how far it is; made once it leaves a file behind."""
    place, *numbers = numbers
    with open(place, "a", encoding="utf-8") as made:
        made.write("made\n")
    tick("adding", 0.5)
    return str(sum(numbers))
