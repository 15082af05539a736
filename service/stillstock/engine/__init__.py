"""The engine: pure functions from SI numbers to answers.

Frame and signs, once for all. Everything stands in the program's work frame: x to the right, y away from the person at
the machine, z up, origin where the program has it. Forces and moments are those that act *on the workpiece*. A wrench
is ``(Fx, Fy, Fz, Mx, My, Mz)`` with its moment about the frame's origin unless a function says otherwise. The spindle
turns clockwise seen from above (M3). Everything is SI: m, N, N m, Pa, rad, s, kg.
"""
