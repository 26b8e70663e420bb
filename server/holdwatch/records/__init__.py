"""What people write down, and how copies of it become one; pure."""
