"""Passwords are hashed as agreed, and an unknown login costs what a known one costs."""

from __future__ import annotations

import threading
from unicodedata import normalize

import pytest

from holdwatch.services import access
from holdwatch.services.access import passwords
from holdwatch.services.access.signing_in import Knock
from people import PASSWORD


def test_a_hash_is_argon2id_with_19_mebibytes_two_passes_and_one_lane(password_hash):
    # OWASP password storage cheat sheet: argon2id with m=19456 (19 MiB), t=2, p=1.
    assert password_hash.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert passwords.of_the_set_strength(password_hash)


def test_the_hash_for_unknown_logins_takes_as_long_as_any_other():
    assert passwords.of_the_set_strength(passwords.NOBODYS_HASH)


def test_a_password_fits_its_own_hash_and_no_other(password_hash):
    assert passwords.password_fits(PASSWORD, password_hash)
    assert not passwords.password_fits(PASSWORD + " ", password_hash)
    assert not passwords.password_fits(PASSWORD, passwords.NOBODYS_HASH)


def test_a_password_is_the_same_composed_and_decomposed():
    word = "pépinière du soir"
    assert normalize("NFD", word) != word
    assert passwords.password_fits(normalize("NFD", word), passwords.hash_password(word))


def test_an_unknown_login_and_a_wrong_password_are_told_alike_and_both_checked(password_hash, monkeypatch):
    checked = []
    monkeypatch.setattr("holdwatch.services.access.signing_in.password_fits", lambda *pair: checked.append(pair))
    said = []
    for kept in (None, password_hash):
        with pytest.raises(access.WrongLogin) as problem:
            access.check_password(Knock("ilka", "192.0.2.7", kept), "not the password")
        said.append(str(problem.value))
    assert said[0] == said[1]
    assert [pair[1] for pair in checked] == [passwords.NOBODYS_HASH, password_hash]


def test_never_more_than_two_passwords_are_worked_out_at_once(monkeypatch):
    running, most, lock, gate = [0], [0], threading.Lock(), threading.Event()

    def hashing(_self, _password):
        with lock:
            running[0] += 1
            most[0] = max(most[0], running[0])
        gate.wait(timeout=0.2)
        with lock:
            running[0] -= 1
        return "hash"

    monkeypatch.setattr(passwords.PasswordHasher, "hash", hashing)
    threads = [threading.Thread(target=passwords.hash_password, args=("word",)) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert most[0] == 2
