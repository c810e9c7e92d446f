"""Addresses of signing in and out, of invitations and of one's own sign-in.

The library's views are named here one by one, none of its lists of addresses is included. Names that begin with
``account_`` or ``mfa_`` are those by which the library itself looks them up.
"""

from django.urls import path

from sites.views import invitations, own_sign_in, passwords, signing

sign_in = signing.SignIn.as_view()

urlpatterns = [
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-in/", sign_in, name="account_login"),
    path("sign-in/second-step/", signing.SecondStep.as_view(), name="mfa_authenticate"),
    path("sign-in/passkey/", signing.PasskeySignIn.as_view(), name="mfa_login_webauthn"),
    path("sign-out/", signing.SignOut.as_view(), name="sign-out"),
    path("invitation/<str:secret>/", invitations.invitation, name="invitation"),
    path("forgotten-password/", passwords.forgotten, name="forgotten-password"),
    path("forgotten-password/sent/", passwords.link_sent, name="link-sent"),
    path("new-password/<str:uidb64>/<str:token>/", passwords.NewPassword.as_view(), name="new-password"),
    path("second-factor-first/", own_sign_in.second_factor_first, name="second-factor-first"),
    path("your-sign-in/", own_sign_in.your_sign_in, name="your-sign-in"),
    path("your-sign-in/again/", signing.SayAgain.as_view(), name="account_reauthenticate"),
    path("your-sign-in/password/", passwords.change, name="change-password"),
    path("your-sign-in/app/", own_sign_in.AddApp.as_view(), name="mfa_activate_totp"),
    path("your-sign-in/app/remove/", own_sign_in.RemoveApp.as_view(), name="mfa_deactivate_totp"),
    path("your-sign-in/passkeys/", own_sign_in.AddPasskey.as_view(), name="mfa_add_webauthn"),
    path("your-sign-in/passkeys/<int:pk>/", own_sign_in.RemovePasskey.as_view(), name="mfa_remove_webauthn"),
    path("your-sign-in/codes/", own_sign_in.RecoveryCodes.as_view(), name="mfa_view_recovery_codes"),
    path("your-sign-in/codes/new/", own_sign_in.NewRecoveryCodes.as_view(), name="new-recovery-codes"),
    path("your-sign-in/sessions/<int:pk>/", own_sign_in.end_one_session, name="end-session"),
    path("your-sign-in/sessions/others/", own_sign_in.end_other_sessions, name="end-other-sessions"),
    path("your-sign-in/firms/<int:pk>/", own_sign_in.demand, name="demand-second-factor"),
]
