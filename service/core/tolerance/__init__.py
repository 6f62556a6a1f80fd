"""What this body tolerates today: pain, warning signs, screening, and the cautions of every answer."""
