"""The protocol: a pure state machine from a case to a prompt, and from a reply to events."""
