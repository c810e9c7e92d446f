"""Addresses of signing in and out."""

from django.urls import path

from sites.views import home, signing

urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in/", signing.SignIn.as_view(), name="sign-in"),
    path("sign-out/", signing.SignOut.as_view(), name="sign-out"),
]
