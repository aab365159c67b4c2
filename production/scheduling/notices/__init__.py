"""The plan as others see it: calendars at an address, and the week on the wall."""
