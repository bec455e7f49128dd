"""How the load on a cap comes to its fasteners, and when its joint opens."""

from __future__ import annotations

import numpy as np

from ..trace import Array, formula


@formula(
    symbol="F_side",
    unit="N",
    equation="F_side = max over angle of [ V/2 + |H| (h/2)/s ], not below 0",
    source="statics: moments about the far foot; the register holds the cap at half its depth h",
    valid="joint face at the height of the crank's axis, loads through that axis",
)
def heavier_side_load(vertical: Array, lateral: Array, register_depth: Array, span: Array) -> Array:
    """Pull on the more loaded side of a cap, largest over the cycle.

    A force through the axis makes no moment about a joint face at that height.
    What does is the register: it takes the sideways load below the face, at half
    its depth, and the couple is borne by the two sides a span apart.

    Parameters
    ----------
    vertical, lateral : array, shape (n, P, Z, K)
        Load into the cap, and across it [N].
    register_depth, span : array, shape (n, 1, 1, 1)
        Depth of the register; distance between the inner fasteners [m].

    Returns
    -------
    array, shape (n, P, Z, 1)
        Zero or more [N].
    """
    side = np.abs(lateral)
    side *= register_depth / span
    side += vertical
    largest: Array = 0.5 * np.maximum(np.max(side, axis=-1, keepdims=True), 0.0)
    return largest


@formula(symbol="K", unit="N/m", equation="K = 1/d_S + 1/d_P", source="two springs in parallel")
def joint_stiffness(bolt_compliance: Array, member_compliance: Array) -> Array:
    """Stiffness of one clamped fastener against the pull of the cap.

    Parameters
    ----------
    bolt_compliance, member_compliance : array, shape (n, 1, 1, 1)
        [m/N].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N/m].
    """
    stiffness: Array = 1.0 / bolt_compliance + 1.0 / member_compliance
    return stiffness


@formula(
    symbol="w_i",
    unit="1",
    equation="w_i = K_i / (K_i + r K_o cos^2 s)",
    source="statics of a foot on two springs; r for the give of the foot between them",
    valid="faces in contact",
)
def inner_share(inner_stiffness: Array, outer_stiffness: Array, splay: Array, reach: Array) -> Array:
    """Share of one side's load that goes to its inner fastener.

    Parameters
    ----------
    inner_stiffness, outer_stiffness : array, shape (n, 1, 1, 1)
        `joint_stiffness` [N/m].
    splay : array
        Lean of the outer fastener, 0 when straight [rad].
    reach : array
        How much of a rigid foot's share reaches the outer fastener, 0 to 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [-].
    """
    share: Array = inner_stiffness / (inner_stiffness + reach * outer_stiffness * np.cos(splay) ** 2)
    return share


@formula(
    symbol="F_A",
    unit="N",
    equation="F_A = w_i F_side",
    source="definition",
)
def inner_load(side_load: Array, share: Array) -> Array:
    """Load on the inner fastener's joint.

    Parameters
    ----------
    side_load : array, shape (n, P, Z, 1)
        `heavier_side_load` [N].
    share : array, shape (n, 1, 1, 1)
        `inner_share` [-].

    Returns
    -------
    array, shape (n, P, Z, 1)
        [N].
    """
    return side_load * share


@formula(
    symbol="F_Ao",
    unit="N",
    equation="F_Ao = (1 - w_i) F_side / cos s",
    source="statics",
)
def outer_load(side_load: Array, share: Array, splay: Array) -> Array:
    """Load along the outer fastener.

    Parameters
    ----------
    side_load : array, shape (n, P, Z, 1)
        `heavier_side_load` [N].
    share, splay : array, shape (n, 1, 1, 1)
        `inner_share` [-]; lean [rad].

    Returns
    -------
    array, shape (n, P, Z, 1)
        [N].
    """
    return side_load * (1.0 - share) / np.cos(splay)


@formula(
    symbol="F_KR",
    unit="N",
    equation="F_KR = F_i + r F_o cos s",
    source="statics; r as in the inner share",
)
def side_clamp(inner: Array, outer: Array, splay: Array, reach: Array) -> Array:
    """Clamp beside the bore on one side of a four-bolt cap.

    Parameters
    ----------
    inner, outer : array, shape (n, 1, 1, 1)
        Preload of one inner and one outer fastener [N].
    splay, reach : array
        As in `inner_share` [rad], [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    return inner + reach * outer * np.cos(splay)


@formula(
    symbol="Q_s",
    unit="N",
    equation="Q_s = F_o sin s",
    source="statics",
    valid="the two sides pull against each other: no net side force until the cap slips",
)
def splayed_side_pull(outer: Array, splay: Array) -> Array:
    """Outward pull of one splayed fastener on its foot, along the joint face.

    Parameters
    ----------
    outer, splay : array, shape (n, 1, 1, 1)
        Preload [N]; lean from the normal [rad].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    return outer * np.sin(splay)


@formula(
    symbol="k_x",
    unit="N/m",
    equation="k_x = 2 sin^2 s / d_S",
    source="statics of two elastic ties leaning opposite ways",
    valid="both ties stay tight: slip below F_o d_S / sin s",
)
def splayed_side_stiffness(bolt_compliance: Array, splay: Array) -> Array:
    """Sideways stiffness that a pair of splayed fasteners gives a cap that slips.

    Parameters
    ----------
    bolt_compliance, splay : array, shape (n, 1, 1, 1)
        Of one outer fastener [m/N]; lean [rad].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N/m].
    """
    stiffness: Array = 2.0 * np.sin(splay) ** 2 / bolt_compliance
    return stiffness


@formula(
    symbol="F_open",
    unit="N",
    equation="F_open = m (1 - Phi) F_side, largest over the duty",
    source="Budynas & Nisbett eq. 8-29 (read)",
)
def opening_demand(side_load: Array, load_factor: Array, error: Array) -> Array:
    """What the load takes from the clamp of one side, largest over the duty.

    Parameters
    ----------
    side_load : array, shape (n, P, Z, 1)
        `heavier_side_load` [N].
    load_factor, error : array, shape (n, 1, 1, 1)
        Share the fasteners feel; model error, mean 1 [-].

    Returns
    -------
    array, shape (n, 1, 1, 1)
        [N].
    """
    largest: Array = np.max(side_load, axis=(1, 2, 3), keepdims=True)
    return error * (1.0 - load_factor) * largest


@formula(
    symbol="F_S",
    unit="N",
    equation="F_S = max(F_V + Phi F_A, F_A)",
    source="two springs; once the joint is open the fastener bears all (Budynas & Nisbett sec. 8-7)",
)
def fastener_load(preload: Array, load_factor: Array, load: Array) -> Array:
    """Pull in a fastener under the load of its joint.

    Parameters
    ----------
    preload, load_factor : array, shape (n, 1, 1, 1)
        [N], [-].
    load : array, shape (n, P, Z, 1)
        On this fastener's joint [N].

    Returns
    -------
    array, shape (n, P, Z, 1)
        [N].
    """
    return np.maximum(preload + load_factor * load, load)
