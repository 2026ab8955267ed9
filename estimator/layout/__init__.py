"""Where it goes: routes, lengths, joints."""
