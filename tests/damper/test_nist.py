"""The linear algebra behind fits and bands against certified values, by our own least squares.

Norris: NIST StRD, read in the data file that SciPy's tests ship. Longley: NIST StRD's data as
statsmodels ships it; its certified values were not found in an installed package, so statsmodels'
own ordinary least squares is the reference there. Columns are scaled to a largest value of one, as
a sheet's are.
"""

import re
from pathlib import Path

import numpy as np
import pytest

from trackside.damper.solver import Priors, minimise


def _least_squares(columns: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, ...]:
    """Coefficients and standard errors through `minimise`, its loss plain squares."""
    scale, height = np.abs(columns).max(axis=0), np.abs(y).max()
    rows, seen = columns / scale, y / height
    n, p = rows.shape
    none = Priors(np.empty((0, p)), np.empty(0))

    def model(x):
        return (rows @ x - seen) * 1e4, rows * 1e4

    free = np.full(p, -np.inf)
    found = minimise(model, np.zeros(p), free, none, steps=200, tolerance=0.0, influence=np.inf)
    curvature = (found.slopes.T * found.weights) @ found.slopes
    scatter = np.sum(found.residuals**2) / (n - p)
    errors = np.sqrt(np.diag(np.linalg.inv(curvature)) * scatter)
    return found.x / scale * height, errors / scale * height


def test_norris():
    tests = pytest.importorskip("scipy.stats.tests")
    path = Path(tests.__path__[0]) / "data/nist_linregress/Norris.dat"
    if not path.exists():
        pytest.skip("this SciPy ships no NIST data")
    text = path.read_text(encoding="ascii")
    certified = {
        name: (float(value), float(error))
        for name, value, error in re.findall(r"^\s+(B[01])\s+(\S+)\s+(\S+)\s*$", text, re.M)
    }
    table = text[text.rindex("Data:") :].splitlines()[1:]
    y, x = np.array([line.split() for line in table if line.strip()], float).T
    assert x.size == 36
    found, errors = _least_squares(np.column_stack([np.ones(36), x]), y)
    for name, value, error in zip(("B0", "B1"), found, errors, strict=True):
        assert value == pytest.approx(certified[name][0], rel=1e-7)
        assert error == pytest.approx(certified[name][1], rel=1e-7)


def test_longley():
    longley = pytest.importorskip("statsmodels.datasets.longley")
    linear_model = pytest.importorskip("statsmodels.regression.linear_model")
    data = longley.load()
    columns = np.column_stack([np.ones(16), np.asarray(data.exog, float)])
    y = np.asarray(data.endog, float)
    theirs = linear_model.OLS(y, columns).fit()
    found, errors = _least_squares(columns, y)
    # seven columns that are nearly one another: the square of their condition eats the digits
    np.testing.assert_allclose(found, theirs.params, rtol=1e-4)
    np.testing.assert_allclose(errors, theirs.bse, rtol=1e-4)
