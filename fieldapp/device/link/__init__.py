"""The phone's side of the link to the shed over Wi-Fi: pinned TLS, pairing, hand-over, sheet."""
