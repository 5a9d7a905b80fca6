"""The straight-line model behind every comparison with blocks or several factors, as one matrix of runs by terms.

Every factor's effects sum to zero, so the first coefficient is the plain mean over settings and blocks.
"""

import functools
import itertools
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Model:
    """What a set of runs can tell apart.

    Attributes
    ----------
    matrix : array, runs by columns
        Mean, blocks, main effects, and the pairs of factors that can be told from them.
    places : dict of tuple to slice
        Columns of each term; a term is a tuple of factor positions, ``()`` the mean.
    levels : tuple of tuple of str
        Levels of each factor, in order.
    freedom : int
        Runs left to show the scatter.
    lost : tuple of tuple
        Terms that these runs cannot tell from those before them.
    """

    matrix: np.ndarray
    places: dict
    levels: tuple
    freedom: int
    lost: tuple

    def means(self, factor):
        """Rows that give the mean at each level of a factor, all else averaged.

        Parameters
        ----------
        factor : int
            Position of the factor.

        Returns
        -------
        array, levels by columns
            To be multiplied with the coefficients.
        """
        rows = np.zeros((len(self.levels[factor]), self.matrix.shape[1]))
        rows[:, 0] = 1
        if (factor,) in self.places:
            rows[:, self.places[(factor,)]] = _coding(len(rows))
        return rows

    @property
    def pairs(self):
        """Pairs of factors whose joint effect can be told."""
        return [term for term in self.places if len(term) == 2]


@functools.lru_cache(maxsize=256)
def model(columns, *, levels=None, blocks=(), order=2):
    """Model of the runs' labels.

    Parameters
    ----------
    columns : tuple of tuple of str
        For each factor the level of every run.
    levels : tuple of tuple of str, optional
        Levels of each factor in their order; without it as they appear.
    blocks : tuple of str
        Block of every run; empty without blocks.
    order : int
        Most factors that may act together in one term.

    Returns
    -------
    Model
        Terms that repeat earlier ones are left out: blocks first, then main effects, then pairs.
    """
    count = len(columns[0])
    levels = levels or tuple(tuple(dict.fromkeys(column)) for column in columns)
    coded = [_coded(column, names) for column, names in zip(columns, levels, strict=True)]
    matrix, places, lost = np.ones((count, 1)), {(): slice(0, 1)}, []
    if len(set(blocks)) > 1:
        matrix = np.hstack([matrix, _coded(blocks, tuple(dict.fromkeys(blocks)))])
    rank = np.linalg.matrix_rank(matrix)
    for size in range(1, order + 1):
        for term in itertools.combinations(range(len(columns)), size):
            wider = np.hstack([matrix, _product([coded[factor] for factor in term])])
            gained = wider.shape[1] - matrix.shape[1]
            if gained and np.linalg.matrix_rank(wider) == rank + gained:
                places[term] = slice(matrix.shape[1], wider.shape[1])
                matrix, rank = wider, rank + gained
            else:
                lost.append(term)
    return Model(matrix, places, levels, int(count - rank), tuple(lost))


def _coding(count):
    """Sum-to-zero coding; two levels are -1 and +1."""
    if count == 2:
        return np.array([[-1.0], [1.0]])
    return np.vstack([np.eye(count - 1), -np.ones(count - 1)])


def _coded(column, names):
    place = {name: number for number, name in enumerate(names)}
    return _coding(len(names))[[place[one] for one in column]]


def _product(blocks):
    """Every product of one column from each block."""
    columns = blocks[0]
    for block in blocks[1:]:
        columns = (columns[:, :, None] * block[:, None, :]).reshape(len(columns), -1)
    return columns
