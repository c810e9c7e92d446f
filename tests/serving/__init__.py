"""The server as a program of its own: started by hand, asked, told to end, and used by several at once."""
