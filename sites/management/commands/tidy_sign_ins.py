"""``manage.py tidy_sign_ins``: what need not be kept of signing in. To be run once a day."""

from typing import Any

from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.utils import timezone

from sites.actions.attempts import forget_attempts, forget_counts
from sites.management.on_record import RecordCommand


class Command(RecordCommand):
    help = "Removes attempts at signing in older than ninety days, and sessions and counts that are over."

    def handle(self, *args: Any, **options: Any) -> None:
        now = timezone.now()
        attempts = forget_attempts(at=now)
        sessions = Session.objects.filter(expire_date__lte=now).delete()[0]
        UserSession.objects.exclude(session_key__in=Session.objects.values("session_key")).delete()
        forget_counts(at=now)
        self.stdout.write(f"{attempts} attempts and {sessions} sessions removed.")
