"""The one-dimensional field of all ducts: what a step consists of, and every array it needs.

All ducts lie one after another in flat arrays over N cells, each duct with one ghost cell at either end.
Cell i lies between face i and face i + 1; velocity counts from the duct's start to its end.  The first
real cell of duct d is ``first[d]``, its last ``last[d]``; its end faces are ``first[d]`` and
``last[d] + 1``.

Arrays (float64; rows named in `duct_rows`, made by `gas.duct_mesh.field_arrays`)

=============  ==========  ==================================================================================
``q``          (9, N)      partial densities of 7 species [kg/m3], momentum [kg/(m2 s)], total energy [J/m3]
``temperature`` (N,)       [K]; kept between steps as the start of the next search
``prim``       (9, N)      density, velocity, pressure, sound, ratio of heats, gas constant, internal energy
``thermo``     (7, 6)      coefficients of the species' energies, gas constants (`gas.duct_gas.duct_thermo`)
``geo``        (11, N)     lengths, volumes, area steps, walls, multipliers
``face_area``  (N + 1,)    [m2]
``flux``       (9, N + 1)  through a face times its area: kg/s, N (pressure and momentum), W
``edges``      (D, 2, 14)  gas just inside both ends of each duct, half a step ahead (E_ of `duct_rows`)
``work``       (27, 132)   scratch
``wall``       (2, N)      drag [1/m] and film [W/(m3 K)]
``heat``       (N,)        heat given to the walls so far [J]
``active``     (S,)        species that can be there at all (int64); the others' rows must be nought
``first, last`` (D,)       int64
=============  ==========  ==================================================================================

One step::

    refresh(q, temperature, prim, thermo, first, last)
    dt = courant / wave_speed(prim, geo[D_DX])               # courant 0.9 at most
    wall_losses(prim, temperature, geo, first, last, wall)    # every few steps is enough
    faces(q, prim, dt, geo, face_area, active, first, last, flux, edges, work)
    flux[:, first[d]] = ...; flux[:, last[d] + 1] = ...       # what the neighbour makes of edges[d]
    advance(q, flux, prim, temperature, dt, geo, wall, active, heat)

The order matters, and `refresh` must come directly before `faces`.  Ghost cells need no care; cells behind
the last duct fill the rows up (`gas.duct_mesh.padded`).  Mass of a species in the ducts is
``sum(q[k] * geo[D_VOLUME])`` (volume is nought in ghosts), energy likewise with row 8.
"""

from __future__ import annotations

from . import duct_advance, duct_faces, duct_riemann, duct_rows, duct_state, duct_walls

advance = duct_advance.advance
wall_losses = duct_walls.wall_losses
faces = duct_faces.faces
riemann_rows = duct_riemann.riemann_rows
refresh = duct_state.refresh
wave_speed = duct_state.wave_speed
D_DX, D_VOLUME = duct_rows.D_DX, duct_rows.D_VOLUME
