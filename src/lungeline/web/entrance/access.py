"""The log of who looked at or did what. No names of animals or owners, no words, no PINs."""

from django.http import HttpRequest

from lungeline.web.models import Access

_MOST_KEPT = 50_000
_LINE, _NAME = 200, 100


def note_access(request: HttpRequest, what: str, outcome: str, *, person: str = "", device: str = "") -> None:
    """Note one access; the oldest go when there are very many."""
    Access.objects.create(
        person=person[:_LINE],
        device=device[:_NAME],
        address=str(request.META.get("REMOTE_ADDR", ""))[:_NAME],
        what=what[:_LINE],
        outcome=outcome[:_NAME],
    )
    newest = Access.objects.order_by("-id").values_list("id", flat=True).first() or 0
    if newest % 1000 == 0:
        Access.objects.filter(id__lte=newest - _MOST_KEPT).delete()


def last_accesses(most: int = 200) -> list[Access]:
    """Return the newest accesses."""
    return list(Access.objects.all()[:most])
