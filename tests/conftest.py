"""What every test is run under."""

from hypothesis import settings

# the same examples on every machine, and no clock: a property holds or fails for good
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")
