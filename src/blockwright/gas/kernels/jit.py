"""The one way in which kernels are compiled, and the layout of the packed constants."""

from __future__ import annotations

from ...compiled import kernel as kernel

# Rows of a state vector.
AIR, FUEL, NITROUS, VAPOUR, BURNED_AIR, BURNED_FUEL, BURNED_NITROUS, ENERGY = range(8)

# Places in the packed constants of a working gas (`gas.fuels.WorkingGas.constants`).
(
    G_T0, G_DT, G_NT, G_P0, G_DP, G_NP, G_PHI0, G_DPHI, G_NPHI,
    G_R_AIR, G_R_FUEL, G_R_NITROUS, G_R_VAPOUR, G_R_NITROGEN, G_AFR, G_AIR_OF_NITROUS, G_FREEZE,
) = range(17)  # fmt: skip

# Places in the packed geometry of a cylinder (`gas.model.Breathing.geometry`).
(
    C_AREA, C_CRANK, C_ROD, C_OFFSET, C_TOP, C_BORE, C_HEAD_AREA, C_PISTON_AREA, C_LINER_TOP,
    C_T_HEAD, C_T_PISTON, C_T_LINER, C_WOSCHNI,
) = range(13)  # fmt: skip

# Places in the packed burn law: start and length [deg], share that burns, heat factor.
B_START, B_LENGTH, B_SHARE, B_HEAT = range(4)

# Places in a cylinder's reference states for the heat transfer.
R_P, R_T, R_V, R_P_SPARK, R_V_SPARK = range(5)
