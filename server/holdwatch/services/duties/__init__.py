"""What people must do and how they hear of it: planned with each forecast, queued, claimed and handed over."""

from .feed import Feed, end_feed, feed_of, new_feed, read_feed
from .kept import read_kept
from .loop import run_forever
from .planning import claims_in, keep_plan, plan, quantiles
from .subscriptions import Subscription, subscribe, unsubscribe
from .supplies import set_going, tin_of
from .working import WorkDone, work

__all__ = [
    "Feed",
    "Subscription",
    "WorkDone",
    "claims_in",
    "end_feed",
    "feed_of",
    "keep_plan",
    "new_feed",
    "plan",
    "quantiles",
    "read_feed",
    "read_kept",
    "run_forever",
    "set_going",
    "subscribe",
    "tin_of",
    "unsubscribe",
    "work",
]
