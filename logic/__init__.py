"""Pure calculation for reboring and honing: no files, no clock, no screen.

One convention for units holds at every public boundary in this package: a float
whose name ends in its unit (``bore_mm``, ``wall_c``, ``torque_nm``, ``u_um``), and
results whose figures are :class:`~logic.say.Qty` objects, which carry theirs.
Diameters and lengths are millimetres at 20 degrees Celsius unless a name says
otherwise.
"""
