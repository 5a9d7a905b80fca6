"""The best designs of each kind of blades, however many are looked at: what a search remembers."""

import bisect


class Archive:
    """Designs in the order of their worth; whatever order they come in, the same ones are kept.

    Parameters
    ----------
    most : int
        How many to keep of each kind of blades.
    """

    def __init__(self, most):
        self._most, self._kinds = most, {}

    def add(self, found):
        """Take in designs, and forget what is worth less than the best of their kind.

        Parameters
        ----------
        found : iterable of Found
            In any order.
        """
        for one in found:
            mine = self._kinds.setdefault(one.kind, [])
            bisect.insort(mine, one, key=rank)
            del mine[self._most :]

    def of(self, kind):
        """Designs kept of one kind.

        Parameters
        ----------
        kind : int
            Index of the kind.

        Returns
        -------
        list of Found
            Best first.
        """
        return list(self._kinds.get(kind, ()))

    def leaders(self):
        """The best design of each kind.

        Returns
        -------
        list of Found
            Best first.
        """
        return sorted((mine[0] for mine in self._kinds.values()), key=rank)

    def best(self):
        """All designs kept that will do.

        Returns
        -------
        list of Found
            Best first.
        """
        return sorted((one for mine in self._kinds.values() for one in mine if one.chain), key=rank)

    def __len__(self):
        return sum(map(len, self._kinds.values()))


def rank(one):
    """Place of a design among others: a key to sort by, without ties.

    Parameters
    ----------
    one : Found
        The design.

    Returns
    -------
    tuple
        Smaller is better.
    """
    return -one.value, one.kind, one.point
