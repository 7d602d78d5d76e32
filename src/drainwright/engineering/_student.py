"""Quantiles of Student's t, for intervals."""

from __future__ import annotations

from scipy import stats

from drainwright.errors import require


def quantile(confidence: float, degrees: int) -> float:
    """Two-sided quantile of Student's t [1] for a confidence level and degrees of freedom."""
    require("confidence", confidence, "1", low=0.5, high=0.999)
    return float(stats.t.ppf(0.5 + confidence / 2.0, degrees))
