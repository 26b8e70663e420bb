"""Tests in a real headless Chromium, the server in its own process with a clock that the test moves."""
