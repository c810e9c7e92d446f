"""What stands between a request and the person behind it: the library's adapters, devices, sessions, demands."""
