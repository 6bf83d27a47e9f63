"""What the templates of mails may use."""
