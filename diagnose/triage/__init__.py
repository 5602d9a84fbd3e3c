"""The helpdesk: one pasted report to a diagnosis document."""
