"""The place of one light or card for targets."""
