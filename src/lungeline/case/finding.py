"""What check, plan, compare and explain have to say: a code, how grave it is, and the numbers it rests on.

Never a sentence: `words` turns a finding into one, in a language, at the door.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Severity = Literal["note", "advice", "caution", "stop"]
SEVERITIES: tuple[Severity, ...] = ("stop", "caution", "advice", "note")  # gravest first


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing a person should know.

    code: stable, snake_case; documented, and worded in every language.
    severity: "stop" forbids a green light; "caution" may harm; "advice" would help; "note" is worth knowing.
    about: name of the number or part it is about, such as "settings.pressure_limit_cmh2o".
    figures: what the wording needs, by names that carry their unit; words where they are no numbers.
    """

    code: str
    severity: Severity
    about: str = ""
    figures: Mapping[str, float | str | None] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """Return the finding as a plain object."""
        return {
            "code": self.code,
            "severity": self.severity,
            "about": self.about,
            "figures": dict(self.figures),
        }


def gravest_first(findings: "tuple[Finding, ...] | list[Finding]") -> tuple[Finding, ...]:
    """Return findings in the order a person in a hurry should read them, else as they came."""
    return tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity)))
