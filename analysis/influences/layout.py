"""How coefficients make up the traits of casks, with the products that every fit needs.

A cask's traits touch a dozen coefficients out of hundreds, so what looks like large products is
a few numbers a cask. With ``L_c`` the rows of cask c, two products are prepared once for all
descriptors and all variances::

    sum_c L_c' D_c L_c      from the small matrices D_c
    L_c C L_c'  for all c   from one matrix C

Both are symmetric, and half of them is reckoned. Small matrices have their casks last: what is
reckoned of all casks at once lies side by side.
"""

from __future__ import annotations

import numpy as np
import scipy.sparse

from ..array_types import Matrix, Stack, Vector


class TraitLayout:
    """Rows of the coefficients for every trait of every cask.

    Parameters
    ----------
    traits
        Shape (casks, traits, coefficients).

    Examples
    --------
    >>> layout = TraitLayout(np.array([[[1.0, 0.0, 2.0]], [[1.0, 1.0, 0.0]]]))
    >>> layout.gram(np.array([[[2.0, 1.0]]])).tolist()
    [[3.0, 0.0, 0.0], [1.0, 1.0, 0.0], [4.0, 0.0, 8.0]]
    >>> layout.within(np.eye(3)).ravel().tolist()
    [5.0, 2.0]
    """

    def __init__(self, traits: Stack) -> None:
        self.traits = traits
        self.n_casks, self.n_traits, self.n_columns = traits.shape
        self.flat = scipy.sparse.csr_matrix(traits.reshape(-1, self.n_columns))
        self.flat_across = self.flat.T.tocsr()
        self._first, self._second = np.triu_indices(self.n_traits)
        parts = [
            _row_products(
                *(self.flat[place :: self.n_traits] for place in (first, second)),
                of_itself=bool(first == second),
            )
            for first, second in zip(self._first, self._second, strict=True)
        ]
        self._pairs = scipy.sparse.vstack(parts, format="csr")
        self._pairs_across = self._pairs.T.tocsr()

    def gram(self, small: Stack) -> Matrix:
        """``sum_c L_c' D_c L_c`` from symmetric `small`, shape (traits, traits, casks).

        Its lower half; above the diagonal stands nothing.
        """
        each = small[self._first, self._second].ravel()
        found: Matrix = (self._pairs_across @ each).reshape(self.n_columns, self.n_columns)
        return found

    def within(self, matrix: Matrix) -> Stack:
        """``L_c C L_c'`` of every cask from symmetric `matrix`, shape (traits, traits, casks)."""
        halved = matrix.copy()
        halved[np.diag_indices(self.n_columns)] *= 0.5
        each = (self._pairs @ halved.ravel()).reshape(-1, self.n_casks)
        each[self._first == self._second] *= 2.0
        found = np.empty((self.n_traits, self.n_traits, self.n_casks))
        found[self._first, self._second] = each
        found[self._second, self._first] = each
        return found

    def of_coefficients(self, coefficients: Vector) -> Matrix:
        """The traits that some coefficients make up, shape (casks, traits)."""
        found: Matrix = (self.flat @ coefficients).reshape(self.n_casks, self.n_traits)
        return found

    def onto_coefficients(self, values: Matrix) -> Vector:
        """``sum_c L_c' v_c`` from values of every trait, shape (casks, traits)."""
        found: Vector = self.flat_across @ values.ravel()
        return found


def _row_products(
    first: scipy.sparse.csr_matrix, second: scipy.sparse.csr_matrix, *, of_itself: bool
) -> scipy.sparse.csr_matrix:
    """Every row of one times the same row of the other: sums over both ways round of two columns.

    They stand on and below the diagonal. Of a row and itself the two ways are one, and count once
    off the diagonal.
    """
    n, m = first.shape
    in_second = np.diff(second.indptr)
    row = np.repeat(np.arange(n), np.diff(first.indptr))
    repeats = in_second[row]
    left = np.repeat(np.arange(first.nnz), repeats)
    starts = np.cumsum(repeats) - repeats
    right = second.indptr[row[left]] + np.arange(len(left)) - starts[left]
    one, other = first.indices[left].astype(np.int64), second.indices[right].astype(np.int64)
    values = first.data[left] * second.data[right]
    if of_itself:
        kept = one >= other
        one, other, values, row = one[kept], other[kept], values[kept], row[left][kept]
    else:
        values, row = np.where(one == other, 2.0 * values, values), row[left]
    columns = np.maximum(one, other) * m + np.minimum(one, other)
    return scipy.sparse.csr_matrix((values, (row, columns)), shape=(n, m * m))
