"""The publications that tactics rest on."""
