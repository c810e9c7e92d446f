"""Addresses of documents."""

from django.urls import URLPattern, path

from sites.views import documents

urlpatterns: list[URLPattern] = [
    path("documents/", documents.documents, name="documents"),
    path("documents/<int:pk>/", documents.document, name="document"),
    path("documents/<int:pk>/revise/", documents.document_revise, name="document-revise"),
    path("documents/<int:pk>/withdraw/", documents.document_withdraw, name="document-withdraw"),
    path("documents/files/<int:pk>/", documents.document_file, name="document-file"),
    path("sites/<int:pk>/documents/add/", documents.document_add, name="document-add"),
]
