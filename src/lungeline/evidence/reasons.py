"""Why a number of ours disagrees with its paper, as far as known, by the key of the comparison."""

REASONS: dict[str, str] = {}
