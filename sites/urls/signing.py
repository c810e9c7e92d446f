"""Addresses of signing in and out, of invitations and of one's own sign-in: each named here, none included whole."""

from django.urls import path

from sites.views import invitations, signing

urlpatterns = [
    path("sign-in/", signing.SignIn.as_view(), name="sign-in"),
    path("sign-out/", signing.SignOut.as_view(), name="sign-out"),
    path("invitation/<str:secret>/", invitations.invitation, name="invitation"),
]
