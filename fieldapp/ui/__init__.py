"""The screens: each shows one object of `fieldapp.phone` and forwards presses."""
