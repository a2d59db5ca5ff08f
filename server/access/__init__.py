"""Who may do what: people, roles, passwords, sessions."""
