"""Mean, scatter and drift of a stream of numbers, however long it gets."""

import math


class Trend:
    """Running mean, standard deviation and straight line of values over time.

    Attributes
    ----------
    count : int
        Values so far.
    mean : float
        Their mean, unit of the values.
    first, last : float
        When the first and the last value came [s].
    area : float
        Integral over time, straight lines drawn between the values, unit of the values times s: of power the energy.

    Notes
    -----
    Welford's update for the sums of squares and products, so nothing is lost in long runs.
    """

    def __init__(self):
        self.count, self.mean = 0, 0.0
        self._time = self._values = self._times = self._both = 0.0
        self.first = self.last = self.area = self._value = 0.0

    def add(self, time, value):
        """Take one more value.

        Parameters
        ----------
        time : float
            When [s].
        value : float
            Any unit.
        """
        self.count += 1
        if self.count == 1:
            self.first = time
        else:
            self.area += (time - self.last) * (value + self._value) / 2
        self.last, self._value = time, value
        off_time, off = time - self._time, value - self.mean
        self._time += off_time / self.count
        self.mean += off / self.count
        self._times += off_time * (time - self._time)
        self._values += off * (value - self.mean)
        self._both += off_time * (value - self.mean)

    @property
    def sd(self):
        """Standard deviation of the values, 0 for fewer than two."""
        return math.sqrt(max(self._values, 0.0) / (self.count - 1)) if self.count > 1 else 0.0

    @property
    def drift(self):
        """Change of the straight line from first to last value, unit of the values."""
        return self._both / self._times * (self.last - self.first) if self._times > 0 else 0.0

    @property
    def drift_doubt(self):
        """Standard uncertainty of the drift if the scatter is independent; 0 for fewer than three values."""
        if self.count < 3 or self._times <= 0:
            return 0.0
        rest = max(self._values - self._both**2 / self._times, 0.0) / (self.count - 2)
        return math.sqrt(rest / self._times) * abs(self.last - self.first)
