"""Addresses of visits, of the points and readings, and of the acts on a visit."""

from django.urls import URLPattern, path

from inspections.views import points, readings, visits
from inspections.views.visits import entry, parts

urlpatterns: list[URLPattern] = [
    path("visits/", visits.visits, name="visits"),
    path("structures/<int:pk>/plan-visit/", visits.plan_visit, name="plan-visit"),
    path("visits/<int:pk>/", visits.visit, name="visit"),
    path("visits/<int:pk>/enter/", entry.enter, name="visit-enter"),
    path("visits/<int:pk>/enter/<int:point>/", entry.enter_point, name="visit-point"),
    path("visits/<int:pk>/enter/<int:point>/not-read/", entry.enter_reason, name="visit-point-reason"),
    path("visits/<int:pk>/start/", visits.start, name="visit-start"),
    path("visits/<int:pk>/conditions/", visits.conditions, name="visit-conditions"),
    path("visits/<int:pk>/readings-file/", visits.readings_file, name="visit-readings-file"),
    path("visits/<int:pk>/readings-sheet/", visits.readings_sheet, name="visit-readings-sheet"),
    path("visits/<int:pk>/documents/add/", visits.visit_document, name="visit-document"),
    path("visits/<int:pk>/no-reading/", visits.no_reading, name="visit-no-reading"),
    path("visits/<int:pk>/parts/", parts.parts, name="visit-parts"),
    path("visits/<int:pk>/parts/seen/", parts.parts_seen, name="visit-parts-seen"),
    path("visits/<int:pk>/parts/<int:part>/", parts.part_answer, name="visit-part"),
    path("part-looks/<int:pk>/correct/", parts.correct_look, name="part-look-correct"),
    path("visits/<int:pk>/defect/", visits.defect, name="visit-defect"),
    path("visits/<int:pk>/complete/", visits.complete, name="visit-complete"),
    path("visits/<int:pk>/hand-in/", visits.hand_in, name="visit-hand-in"),
    path("visits/<int:pk>/approve/", visits.approve, name="visit-approve"),
    path("visits/<int:pk>/restate/", visits.restate, name="visit-restate"),
    path("visits/<int:pk>/send-back/", visits.send_back, name="visit-send-back"),
    path("imports/<int:pk>/withdraw/", visits.withdraw, name="import-withdraw"),
    path("points/<int:pk>/", points.point, name="point"),
    path("readings/<int:pk>/", readings.reading, name="reading"),
    path("readings/<int:pk>/correct/", entry.correct, name="reading-correct"),
    path("readings/<int:pk>/rebase/", readings.rebase, name="reading-rebase"),
]
