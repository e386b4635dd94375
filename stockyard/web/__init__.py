"""The workshop app: parse, call a service, show."""
