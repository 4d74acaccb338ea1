"""Arrays inside frozen values: double precision, and as frozen as what holds them."""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]
Ints = npt.NDArray[np.int64]


def read_only(values: Array) -> Array:
    """Bar writing into an array that nobody else holds, and give it back."""
    values.setflags(write=False)
    return values
