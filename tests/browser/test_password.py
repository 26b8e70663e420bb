"""An owner who forgot his password sets a new one by the address that the machine prints, and changes it again."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from browser.house import House, running, sign_in
from browser.walk import findings
from holdwatch.example import household as ours

SPLASH_MS = 300
NEW, NEWER = "the female above the ledge", "a cup below the loose fry"


def printed_address(house: House) -> str:
    """What `holdwatch owner-link` prints."""
    command = [sys.executable, "-m", "holdwatch.cli", "owner-link", "--port", str(house.port)]
    done = subprocess.run(command, env=house.environ(), capture_output=True, text=True, check=True)
    found = re.search(r"http\S+/recover#\S+", done.stdout)
    assert found, done.stdout
    return found[0]


def recover(page: Page, address: str) -> None:
    """Open the printed address, and set a new password there."""
    page.goto(address)

    page.get_by_text(f"For Mira, the owner of {ours.HOUSEHOLD}.").wait_for()
    expect(page.get_by_label("Sign-in name")).to_have_value("mira")
    assert list(findings(page)) == []
    page.get_by_label("New password").fill(NEW)
    page.get_by_role("button", name="Set it and sign in").click()
    page.get_by_role("heading", name="Quill").wait_for()


def change(page: Page, current: str, new: str) -> None:
    """Change it in Household."""
    page.get_by_label("Present password").fill(current)
    page.get_by_label("New password").fill(new)
    # By night a contact so soon after another is taken for a splash; the hour is that of this machine.
    page.wait_for_timeout(SPLASH_MS)
    page.get_by_role("button", name="Change", exact=True).click()


def test_a_forgotten_password_is_set_anew_and_changed_in_the_household(browser: Browser, tmp_path: Path):
    with running(tmp_path, datetime.now(UTC), "--example") as house:
        old, near = (browser.new_context(bypass_csp=True, locale="en-GB").new_page() for _ in range(2))
        sign_in(old, house.origin, "mira", ours.PASSWORD)
        recover(near, printed_address(house))
        # Whoever had signed in with the old password is out, and what was logged there stays.
        old.goto(f"{house.origin}/household")
        old.get_by_text("Signed out on this device.").first.wait_for()

        near.goto(f"{house.origin}/household")
        near.get_by_role("button", name="Change the password").click()
        assert list(findings(near)) == []
        change(near, "not the password", NEWER)
        near.get_by_text("This is not your present password.").wait_for()
        change(near, NEW, NEWER)
        near.get_by_text("Your password is changed.").wait_for()
        sign_in(old, house.origin, "mira", NEWER)
        old.get_by_role("heading", name="Quill").wait_for()
        for page in (old, near):
            page.context.close()
