"""What must not be read in logs: some addresses are keys, and whoever has one has what it opens."""

from __future__ import annotations

import logging
import re

from flask import Flask

# A calendar's address, and that of a link to a duty.
IN_A_PATH = re.compile(r"(/(?:calendar|d)/)[^/\s?'\"]+")


class WithoutSecrets(logging.Filter):
    """Takes the secret out of an address before a line is written to a log."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Change the line where it says such an address; every line is let through."""
        said = record.getMessage()
        told = IN_A_PATH.sub(r"\1…", said)
        if told != said:
            record.msg, record.args = told, ()
        return True


WITHOUT_SECRETS = WithoutSecrets()


def keep_secrets_out(app: Flask) -> None:
    """Both the application and the web server below it write the path of a request that failed by our own fault."""
    for log in (app.logger, logging.getLogger("waitress")):
        log.addFilter(WITHOUT_SECRETS)
