"""Geometry and strength of woven monofilament mesh, from its count and its thread.

Aperture, pitch and open area are named as in ISO 9044, which covers metal wire cloth; its use for
polyester is by analogy. ``threads_cm`` is threads per centimetre, ``thread_um`` the diameter of
one thread before weaving in micrometres; both must be above zero.
"""

from __future__ import annotations

import math

PET_DENSITY_G_CM3 = 1.38
"""Polyester; from memory."""
BREAKING_STRESS_MPA = 600.0
"""Stress at which a thread parts; simulated default, not a property of any mesh on sale."""


def pitch_um(threads_cm: float) -> float:
    """Distance from thread to thread, 1 / count, micrometres (ISO 9044)."""
    return 1e4 / threads_cm


def opening_um(threads_cm: float, thread_um: float) -> float:
    """Aperture width between two threads, pitch less diameter, micrometres (ISO 9044).

    Raises:
        ValueError: threads that thick leave no opening at this count.
    """
    opening = pitch_um(threads_cm) - thread_um
    if opening <= 0:
        raise ValueError(f"threads of {thread_um:g} um leave no opening at {threads_cm:g}/cm")
    return opening


def open_area_pct(threads_cm: float, thread_um: float) -> float:
    """Open share of the face, 100 (aperture / pitch)^2, per cent (ISO 9044).

    Raises:
        ValueError: as ``opening_um``.
    """
    return 100 * (opening_um(threads_cm, thread_um) / pitch_um(threads_cm)) ** 2


def theoretical_volume_cm3_m2(
    threads_cm: float, thread_um: float, thickness_um: float | None = None
) -> float:
    """Ink the openings hold: open area times fabric thickness, cm3/m2.

    Without a measured thickness two diameters are taken: an upper bound, since woven cloth is
    always thinner than that (trade article "Mesh Matters", June 2009).

    Raises:
        ValueError: as ``opening_um``.
    """
    thickness = 2 * thread_um if thickness_um is None else thickness_um
    return open_area_pct(threads_cm, thread_um) / 100 * thickness


def thread_section_mm2(thread_um: float) -> float:
    """Cross section of one round thread, pi d^2 / 4, mm2."""
    return math.pi / 4 * (thread_um / 1000) ** 2


def yarn_section_mm2_cm(threads_cm: float, thread_um: float) -> float:
    """Cross section of all threads in one centimetre of width, n pi d^2 / 4, mm2/cm."""
    return threads_cm * thread_section_mm2(thread_um)


def dtex(thread_um: float, density_g_cm3: float = PET_DENSITY_G_CM3) -> float:
    """Grams of thread in 10 km, 1e4 x density x section."""
    return 1e4 * density_g_cm3 * thread_section_mm2(thread_um)


def force_per_thread_cn(tension_n_cm: float, threads_cm: float) -> float:
    """Pull on one thread, 100 T / n, cN."""
    return 100 * tension_n_cm / threads_cm


def thread_stress_mpa(tension_n_cm: float, threads_cm: float, thread_um: float) -> float:
    """Stress in the threads, T / section, MPa."""
    return tension_n_cm / yarn_section_mm2_cm(threads_cm, thread_um)


def specific_stress_cn_dtex(
    tension_n_cm: float,
    threads_cm: float,
    thread_um: float,
    density_g_cm3: float = PET_DENSITY_G_CM3,
) -> float:
    """Pull on one thread for its weight, the measure that tenacity is given in, cN/dtex."""
    return force_per_thread_cn(tension_n_cm, threads_cm) / dtex(thread_um, density_g_cm3)


def breaking_tension_n_cm(
    threads_cm: float, thread_um: float, strength_mpa: float = BREAKING_STRESS_MPA
) -> float:
    """Tension at which the threads part, section x strength, N/cm."""
    return yarn_section_mm2_cm(threads_cm, thread_um) * strength_mpa


def working_ceiling_n_cm(
    threads_cm: float,
    thread_um: float,
    share: float,
    tenacity_cn_dtex: float,
    density_g_cm3: float = PET_DENSITY_G_CM3,
) -> float:
    """Highest tension to work at, f x tenacity x dtex x n / 100, N/cm.

    ``share`` is the part f of the thread's strength, 0 to 1, that may be used. Yield lies well
    before the break, and mesh pulled past it never holds tension ("Mesh Matters", June 2009).
    """
    return share * tenacity_cn_dtex * dtex(thread_um, density_g_cm3) * threads_cm / 100


def stiffness_n_cm(threads_cm: float, thread_um: float, modulus_gpa: float) -> float:
    """Nominal stiffness E A of one set of threads, N/cm for a strain of 1.

    ``modulus_gpa`` is the thread's modulus times what crimp leaves of it.
    """
    return yarn_section_mm2_cm(threads_cm, thread_um) * modulus_gpa * 1000
