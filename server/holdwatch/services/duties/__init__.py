"""What people must do and how they hear of it: planned with each forecast, queued, claimed and handed over."""

from .kept import read_kept
from .loop import run_forever
from .planning import claims_in, keep_plan, plan
from .subscriptions import Subscription, subscribe, unsubscribe
from .working import WorkDone, work

__all__ = [
    "Subscription",
    "WorkDone",
    "claims_in",
    "keep_plan",
    "plan",
    "read_kept",
    "run_forever",
    "subscribe",
    "unsubscribe",
    "work",
]
