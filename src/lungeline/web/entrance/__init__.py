"""Who is let in. On the computer itself nobody signs in; from other devices people must.

From weakest to strongest: a stranger, who sees the door alone; a paired device, on which an emergency may be
recorded before anybody signs in; a person, with the rights of their role; the computer that serves.
"""
