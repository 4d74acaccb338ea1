"""What lots tell of the ground they came from: how clean its moss is, and how heavy its bags."""
