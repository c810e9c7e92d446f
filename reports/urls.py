"""Addresses of issued reports."""

from django.urls import URLPattern, path

from reports import amending, overdue_then, overdue_view, views

urlpatterns: list[URLPattern] = [
    path("due/overdue-register.pdf", overdue_view.overdue_file, name="overdue-register"),
    path("past-day/overdue-register/", overdue_then.overdue_then, name="overdue-register-then"),
    path("reports/", views.reports, name="reports"),
    path("reports/<int:pk>/", views.report, name="report"),
    path("reports/<int:pk>/file/", views.report_file, name="report-file"),
    path("reports/<int:pk>/make-file/", views.make_file, name="report-make-file"),
    path("reports/<int:pk>/propose/", amending.propose, name="report-propose"),
    path("reports/<int:pk>/amend/", amending.amend, name="report-amend"),
    path("reports/<int:pk>/close/", amending.close, name="report-close"),
    path("reports/<int:pk>/withdraw/", amending.withdraw, name="report-withdraw"),
    path("visits/<int:pk>/report/", views.report_of_visit, name="visit-report"),
    path("visits/<int:pk>/authorise/", views.authorise, name="visit-authorise"),
]
