"""Addresses of people, their roles and authorisations, and of inviting somebody."""

from django.urls import URLPattern, path

from inspections.views import people

urlpatterns: list[URLPattern] = [
    path("people/", people.people, name="people"),
    path("people/invite/", people.invite, name="invite"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/invite-again/", people.invite_again, name="invite-again"),
    path("people/<int:pk>/add-role/", people.add_role, name="person-add-role"),
    path("people/<int:pk>/grant/", people.grant_audit, name="person-grant"),
    path("people/<int:pk>/authorise/", people.add_authorisation, name="person-authorise"),
    path("people/<int:pk>/erase-contact/", people.erase_contact, name="person-erase-contact"),
    path("people/<int:pk>/remove-second-factors/", people.remove_factors, name="person-remove-factors"),
    path("people/roles/<int:pk>/reach/", people.add_reach, name="role-reach"),
    path("people/roles/<int:pk>/end/", people.end_role, name="role-end"),
    path("people/reach/<int:pk>/end/", people.end_reach, name="reach-end"),
    path("people/authorisations/<int:pk>/end/", people.end_authorisation, name="authorisation-end"),
    path("people/invitations/<int:pk>/withdraw/", people.withdraw_invitation, name="invitation-withdraw"),
]
