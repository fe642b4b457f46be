"""Which address shows what. Pages lie in the order of the work."""

from django.urls import path

from lungeline.web.api import api
from lungeline.web.pages import cases, enter, people, start

urlpatterns = [
    path("", start.start, name="start"),
    path("cases/", cases.cases, name="cases"),
    path("cases/new/", cases.new, name="new_case"),
    path("enter/", enter.enter, name="enter"),
    path("enter/leave/", enter.leave, name="leave"),
    path("enter/authority.pem", enter.certificate, name="certificate"),
    path("pair/", enter.pairing, name="pair"),
    path("case/<str:case>/claim/", enter.claimed, name="claim"),
    path("settings/people/", people.people, name="people"),
    path("api/", api.urls),
]
