"""What people must do and how they hear of it: planned with each forecast, queued, claimed and handed over."""

from .loop import run_forever
from .planning import plan
from .subscriptions import Subscription, subscribe, unsubscribe
from .working import WorkDone, work

__all__ = ["Subscription", "WorkDone", "plan", "run_forever", "subscribe", "unsubscribe", "work"]
