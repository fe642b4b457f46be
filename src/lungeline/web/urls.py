"""Which address shows what. Pages lie in the order of the work."""

from django.urls import path

from lungeline.web.api import api
from lungeline.web.pages import cases, emergency, enter, people, prepare, record, settings, start, watch

urlpatterns = [
    path("", start.start, name="start"),
    path("cases/", cases.cases, name="cases"),
    path("cases/new/", cases.new, name="new_case"),
    path("enter/", enter.enter, name="enter"),
    path("enter/leave/", enter.leave, name="leave"),
    path("enter/authority.pem", enter.certificate, name="certificate"),
    path("pair/", enter.pairing, name="pair"),
    path("case/<str:case>/claim/", enter.claimed, name="claim"),
    path("case/<str:case>/watch/", watch.watch, name="watch"),
    path("case/<str:case>/record/", record.record, name="record"),
    path("case/<str:case>/chart/<int:sheet>.svg", record.chart, name="chart"),
    path("case/<str:case>/<str:which>.pdf", record.printed, name="printed"),
    path("case/<str:case>/copy/<str:which>", record.copied, name="copied"),
    path("settings/", settings.settings, name="settings"),
    path("settings/people/", people.people, name="people"),
    path("prepare/", prepare.prepare, name="prepare"),
    path("prepare/plan/<str:key>/", prepare.plan_sections, name="plan_sections"),
    path("case/<str:case>/prepare/", prepare.prepare_case, name="prepare_case"),
    path("emergency/", emergency.emergency, name="emergency"),
    path("case/<str:case>/emergency/", emergency.emergency_case, name="emergency_case"),
    path("api/", api.urls),
]
