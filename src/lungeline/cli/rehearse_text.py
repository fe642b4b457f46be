"""Scenarios, deeds and outcomes as text or JSON."""

import json
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lungeline.rehearse import Deed, Outcome, Proof, Scenario

SIMULATED = "SIMULATED. A rehearsal on a simulated animal; it stands for no real one."


def as_text(plain: dict[str, Any]) -> str:
    """Return an object as JSON for print."""
    return json.dumps(plain, indent=2, ensure_ascii=False)


def proof_lines(proofs: "tuple[Proof, ...]", *, as_json: bool) -> str:
    """Return how each answer went."""
    if as_json:
        return as_text({"proofs": [_proof(it) for it in proofs]})
    return "\n".join(_proven(it) for it in proofs)


def _proven(it: "Proof") -> str:
    went = "passes" if it.outcome.passed else f"fails ({', '.join(_missed(it))})"
    return f"{'as it must' if it.holds else 'WRONG     '}  {went}: {it.answer}"


def _proof(it: "Proof") -> dict[str, Any]:
    told = {"answer": it.answer, "must_pass": it.must_pass, "passed": it.outcome.passed, "holds": it.holds}
    return told | {"missed": _missed(it)}


def _missed(it: "Proof") -> list[str]:
    return [each.code for each in it.outcome.critical_actions if not each.met]


def deed_lines(known: "Mapping[str, Deed]", *, as_json: bool) -> str:
    """Return what can be done."""
    if as_json:
        names = ("code", "label", "sort", "takes_s", "source")
        return as_text({"deeds": [{name: getattr(it, name) for name in names} for it in known.values()]})
    return "\n".join(f"{it.code:22} {it.label}" for it in known.values())


def scenario_lines(known: "tuple[Scenario, ...]", *, as_json: bool) -> str:
    """Return the list of scenarios."""
    if as_json:
        return as_text({"scenarios": [_listed(it) for it in known]})
    width = max((len(it.name) for it in known), default=0)
    return "\n".join(f"{it.number:3}  {it.name:{width}}  {it.title}: {it.objective}" for it in known)


def _listed(it: "Scenario") -> dict[str, Any]:
    return {
        "name": it.name,
        "number": it.number,
        "title": it.title,
        "objective": it.objective,
        "minutes": it.minutes,
        "species": it.case.animal.species,
        "skills": list(it.skills),
    }


def described(it: "Scenario", *, as_json: bool) -> str:
    """Return what a learner may know of a scenario."""
    if as_json:
        return as_text({name: getattr(it, name) for name in ("name", "title", "objective", "story")})
    lines = [SIMULATED, "", f"{it.title} ({it.minutes:g} min)", it.objective, "", it.story.strip(), ""]
    lines += [
        f"To play it: lungeline rehearse {it.name} --script FILE, or --answer model",
        "What can be done: lungeline rehearse --deeds",
    ]
    return "\n".join(lines)


def outcome_lines(scenario: "Scenario", outcome: "Outcome", *, as_json: bool) -> str:
    """Return how it went."""
    from lungeline.rehearse.debrief import debrief_lines

    if as_json:
        return as_text(outcome.as_json())
    return "\n".join([SIMULATED, "", *debrief_lines(scenario, outcome)])
