"""Go, caution or stop, by the clinic's limits, the interval of the leak and what it means in use."""

from dataclasses import dataclass
from typing import Any, Literal

from lungeline.case import Finding, gravest_first
from lungeline.check.leak_found import LeakTest
from lungeline.check.limits import LeakLimits, published_limits
from lungeline.check.meaning import LeakInUse
from lungeline.reference import figure

Verdict = Literal["go", "caution", "stop"]
Size = Literal["very small", "small", "needs finding"]
SCHEMA = "lungeline.leak_verdict/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A leak test with its verdict, by what limits, and everything that should be said of it."""

    test: LeakTest
    in_use: LeakInUse
    limits: LeakLimits
    verdict: Verdict
    findings: tuple[Finding, ...]

    @property
    def size(self) -> Size:
        """How practitioners would call a leak of this size on a large circle; common practice, no source."""
        leak = self.test.at_30_cmh2o.value
        if leak >= figure("practice.leak_to_be_found_ml_min").value:
            return "needs finding"
        return "very small" if leak <= figure("practice.leak_very_small_ml_min").value else "small"

    def as_json(self) -> dict[str, Any]:
        """Return test, meaning and verdict as one plain object."""
        numbers = [item.why() for item in (*self.test.numbers, *self.in_use.numbers)]
        return {
            **self.test.as_json(),
            "schema": SCHEMA,
            **self.in_use.as_json(),
            "verdict": self.verdict,
            "size": self.size,
            "limits": self.limits.as_json(),
            "published_for_other_systems": [limit.as_json() for limit in published_limits()],
            "findings": [finding.as_json() for finding in self.findings],
            "why": numbers,
        }


def judge_leak(test: LeakTest, in_use: LeakInUse, limits: LeakLimits | None = None) -> Judged:
    """Return the verdict on a leak test. A leak passes only where its whole interval does."""
    by = limits or LeakLimits()
    found = [*test.findings, *_by_size(test, by), *_by_use(in_use, by), *_about_limits(by)]
    return Judged(
        test=test, in_use=in_use, limits=by, verdict=verdict_of(found), findings=gravest_first(found)
    )


def verdict_of(findings: list[Finding]) -> Verdict:
    """Return the verdict findings lead to: the gravest decides."""
    severities = {finding.severity for finding in findings}
    if "stop" in severities:
        return "stop"
    return "caution" if "caution" in severities else "go"


def _by_size(test: LeakTest, limits: LeakLimits) -> list[Finding]:
    leak = test.at_30_cmh2o
    figures: dict[str, float | str | None] = {
        "leak_at_30_cmh2o_ml_min": leak.value,
        "leak_low_ml_min": leak.low,
        "leak_high_ml_min": leak.high,
        "pass_ml_min": limits.pass_ml_min,
        "fail_ml_min": limits.fail_ml_min,
    }
    if leak.value > limits.fail_ml_min:
        return [Finding(code="leak_fails", severity="stop", about="check.leak_ml_min", figures=figures)]
    if leak.value > limits.pass_ml_min:
        return [
            Finding(code="leak_above_pass", severity="caution", about="check.leak_ml_min", figures=figures)
        ]
    if leak.high > limits.pass_ml_min:
        return [
            Finding(code="leak_may_exceed", severity="caution", about="check.leak_ml_min", figures=figures)
        ]
    return [Finding(code="leak_passes", severity="note", about="check.leak_ml_min", figures=figures)]


def _by_use(in_use: LeakInUse, limits: LeakLimits) -> list[Finding]:
    fresh, breath = in_use.share_of_fresh_gas.value or 0.0, in_use.share_of_tidal_volume.value or 0.0
    found = []
    if fresh > limits.caution_of_fresh_gas_fraction:
        fails = fresh > limits.fail_of_fresh_gas_fraction
        found.append(
            Finding(
                code="leak_takes_fresh_gas",
                severity="stop" if fails else "caution",
                about=in_use.share_of_fresh_gas.name,
                figures={
                    "share_of_fresh_gas_fraction": fresh,
                    "mean_leak_in_use_ml_min": in_use.mean_leak_in_use.value,
                },
            )
        )
    if breath > limits.fail_of_tidal_volume_fraction:
        found.append(
            Finding(
                code="leak_takes_breath",
                severity="stop",
                about=in_use.share_of_tidal_volume.name,
                figures={
                    "share_of_tidal_volume_fraction": breath,
                    "loss_per_breath_ml": in_use.loss_per_breath.value,
                },
            )
        )
    return found


def _about_limits(limits: LeakLimits) -> list[Finding]:
    if limits.signed_by:
        return []
    return [Finding(code="leak_limits_not_signed", severity="note", about="leak_limits")]
