"""Addresses of defects and of what becomes of them."""

from django.urls import URLPattern, path

from inspections.views import defects

urlpatterns: list[URLPattern] = [
    path("defects/", defects.defects, name="defects"),
    path("defects/<int:pk>/", defects.defect, name="defect"),
    path("defects/<int:pk>/told/", defects.tell, name="defect-tell"),
    path("defects/<int:pk>/made-safe/", defects.make_safe, name="defect-make-safe"),
    path("defects/<int:pk>/repaired/", defects.repair, name="defect-repair"),
    path("defects/<int:pk>/re-tested/", defects.retest, name="defect-retest"),
    path("defects/<int:pk>/accepted/", defects.accept, name="defect-accept"),
    path("defects/<int:pk>/withdrawn/", defects.withdraw, name="defect-withdraw"),
    path("defects/<int:pk>/seen-again/", defects.see_again, name="defect-seen-again"),
    path("visits/<int:pk>/danger-told/", defects.tell_at_visit, name="visit-danger-told"),
    path("visits/<int:pk>/seen-again/", defects.see_again_at_visit, name="visit-seen-again"),
    path("visits/<int:pk>/re-tested/", defects.retest_at_visit, name="visit-retest"),
]
