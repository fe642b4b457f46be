"""Which address shows what. Pages lie in the order of the work."""

from django.urls import path

from lungeline.web.api import api
from lungeline.web.pages import cases, start

urlpatterns = [
    path("", start.start, name="start"),
    path("cases/", cases.cases, name="cases"),
    path("cases/new/", cases.new, name="new_case"),
    path("api/", api.urls),
]
