"""Addresses of the register: clients, parts, and the forms of whoever may change what stands there."""

from django.urls import URLPattern, path

from inspections.views import register

urlpatterns: list[URLPattern] = [
    path("sites/search/", register.register_find, name="register-find"),
    path("sites/<int:pk>/section-questions/", register.section_questions, name="section-questions"),
    path("clients/new/", register.client_new, name="client-new"),
    path("clients/<int:pk>/", register.client, name="client"),
    path("clients/<int:pk>/change/", register.client_change, name="client-change"),
    path("clients/<int:pk>/new-site/", register.site_new, name="site-new"),
    path("sites/<int:pk>/change/", register.site_change, name="site-change"),
    path("sites/<int:pk>/new-structure/", register.structure_new, name="structure-new"),
    path("structures/<int:pk>/change/", register.structure_change, name="structure-change"),
    path("structures/<int:pk>/parts/", register.structure_parts, name="structure-parts"),
    path("structures/<int:pk>/new-system/", register.system_new, name="system-new"),
    path("systems/<int:pk>/change/", register.system_change, name="system-change"),
    path("systems/<int:pk>/new-part/", register.part_new, name="part-new"),
    path("parts/<int:pk>/", register.part, name="part"),
    path("parts/<int:pk>/change/", register.part_change, name="part-change"),
    path("parts/<int:pk>/new-point/", register.point_new, name="point-new"),
    path("points/<int:pk>/change/", register.point_change, name="point-change"),
    path("points/<int:pk>/renumber/", register.point_renumber, name="point-renumber"),
    path("points/<int:pk>/retire/", register.point_retire, name="point-retire"),
]
