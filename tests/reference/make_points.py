# /// script
# requires-python = ">=3.11"
# dependencies = [
#   "pvlib==0.16.1",
#   "pandapower==3.5.6",
#   "numpy==2.4.6",
#   "scipy==1.17.1",
#   "pandas==2.3.3",
# ]
# ///
"""Points to compare the formulas in src/calc with, from two models that this project did not write.

pvlib: De Soto's single-diode model, fitted to the data sheets of two invented modules. Voc and Isc over irradiance and cell
temperature. pandapower: load flow and IEC 60909 short circuits of small invented low-voltage networks.

    python3 -m venv v && v/bin/pip install pvlib==0.16.1 pandapower==3.5.6 numpy==2.4.6 scipy==1.17.1 pandas==2.3.3
    v/bin/python tests/reference/make_points.py            writes points.json beside this file
    v/bin/python tests/reference/make_points.py --check    reckons again and compares with it

tests/reference.rs reads points.json; it refuses a table that another state of this file made.
"""

import datetime
import hashlib
import json
import logging
import math
import pathlib
import platform
import sys

import numpy
import pandapower
import pandapower.shortcircuit
import pandas
import pvlib
import scipy

# pandapower says at every run that it would be quicker with numba; these networks are small.
logging.getLogger("pandapower").setLevel(logging.ERROR)

HERE = pathlib.Path(__file__).resolve()
TABLE = HERE.with_name("points.json")

# Invented data sheets. "cells" are those in series: a half-cut module of 108 cells has two halves of 54 in parallel.
MODULES = {
    "invented 425 W, 108 half cells": dict(v_mp=32.2, i_mp=13.2, v_oc=38.6, i_sc=13.9, cells=54, alpha=0.045, beta=-0.25),
    "invented 310 W, 60 cells": dict(v_mp=32.9, i_mp=9.42, v_oc=40.2, i_sc=9.95, cells=60, alpha=0.05, beta=-0.29),
}
IRRADIANCES = [200, 300, 400, 500, 600, 700, 800, 900, 1000]
TEMPERATURES = [-10, 0, 10, 25, 40, 55, 70]
COLDEST = [-20, -15, -10, -5]


def first_guess(m):
    """Where the fit starts: its own default doesn't come home for modules of little series resistance."""
    thermal_v = 0.0256926
    a = m["v_oc"] * (1 - m["beta"] / 100 * 298.15) / (3 + 1.121 / thermal_v)
    i_o = m["i_sc"] * math.exp(-m["v_oc"] / a)
    r_s = (a * math.log1p((m["i_sc"] - m["i_mp"]) / i_o) - m["v_mp"]) / m["i_mp"]
    return dict(IL_0=m["i_sc"], Io_0=i_o, Rs_0=r_s, Rsh_0=300.0, a_0=a)


def pv_points():
    points, cold, fits = [], [], {}
    for name, m in MODULES.items():
        fit, found = pvlib.ivtools.sdm.fit_desoto(
            v_mp=m["v_mp"],
            i_mp=m["i_mp"],
            v_oc=m["v_oc"],
            i_sc=m["i_sc"],
            alpha_sc=m["alpha"] / 100 * m["i_sc"],
            beta_voc=m["beta"] / 100 * m["v_oc"],
            cells_in_series=m["cells"],
            init_guess=first_guess(m),
        )
        assert numpy.abs(found.fun).max() < 1e-6, name
        fits[name] = {k: float(v) for k, v in fit.items()}

        def at(irradiance, temperature, m=m, fit=fit):
            five = pvlib.pvsystem.calcparams_desoto(
                irradiance,
                temperature,
                alpha_sc=m["alpha"] / 100 * m["i_sc"],
                a_ref=fit["a_ref"],
                I_L_ref=fit["I_L_ref"],
                I_o_ref=fit["I_o_ref"],
                R_sh_ref=fit["R_sh_ref"],
                R_s=fit["R_s"],
            )
            curve = pvlib.pvsystem.singlediode(*five)
            return float(curve["v_oc"]), float(curve["i_sc"])

        for g in IRRADIANCES:
            for t in TEMPERATURES:
                voc, isc = at(g, t)
                points.append(dict(module=name, irradiance_w_m2=g, cell_c=t, voc_v=voc, isc_a=isc))
        for t in COLDEST:
            voc, _ = at(1000, t)
            cold.append(dict(module=name, cell_c=t, voc_v=voc))
    sheets = [dict(module=name, **m) for name, m in MODULES.items()]
    return dict(sheets=sheets, fits=fits, points=points, cold=cold)


# One line conductor and one return conductor (neutral or cpc), ohm per km at 20 °C; reactance of each, ohm per km.
X_PER_KM = 0.08
U0 = 230.0
# Source at the origin: impedance of the line and of the return path, ohm.
SOURCE = dict(line=0.11 + 0.03j, back=0.13 + 0.03j)
# Cables one after another: name, ohm per km of line, ohm per km of return, metres.
PATHS = {
    "sub-main 16 mm², branch 6/2.5 mm²": [("sub-main", 1.15, 1.15, 18.0), ("branch", 3.08, 7.41, 14.0)],
    "branch 2.5/1.5 mm²": [("branch", 7.41, 12.10, 31.0)],
    "branch 1.5/1 mm²": [("branch", 12.10, 18.10, 36.0)],
    "sub-main 10 mm²": [("sub-main", 1.83, 1.83, 25.0)],
}


def source(net, bus, case, c):
    """Ext grid whose impedances are those of SOURCE once the voltage factor is taken out again."""
    z1 = SOURCE["line"]
    z0 = SOURCE["line"] + 3 * SOURCE["back"]
    mva = c * (U0 * math.sqrt(3) / 1000) ** 2 / abs(z1)
    rx = z1.real / z1.imag
    kind = {f"s_sc_{case}_mva": mva, f"rx_{case}": rx}
    pandapower.create_ext_grid(net, bus, x0x_max=z0.imag / z1.imag, r0x0_max=z0.real / z0.imag, **kind)
    if case == "min":
        net.ext_grid["x0x_min"] = z0.imag / z1.imag
        net.ext_grid["r0x0_min"] = z0.real / z0.imag


def chain(path, case="max", c=1.0):
    net = pandapower.create_empty_network(f_hz=50)
    buses = [pandapower.create_bus(net, vn_kv=U0 * math.sqrt(3) / 1000, name="origin")]
    source(net, buses[0], case, c)
    for name, line, back, metres in path:
        buses.append(pandapower.create_bus(net, vn_kv=U0 * math.sqrt(3) / 1000, name=name))
        pandapower.create_line_from_parameters(
            net,
            buses[-2],
            buses[-1],
            length_km=metres / 1000,
            r_ohm_per_km=line,
            x_ohm_per_km=X_PER_KM,
            c_nf_per_km=0,
            max_i_ka=0.1,
            # A fault from line to return sees line + return: Z0 = Z1 + 3 Z of the return.
            r0_ohm_per_km=line + 3 * back,
            x0_ohm_per_km=X_PER_KM * 4,
            c0_nf_per_km=0,
            # At 20 °C, as the resistances are.
            endtemp_degree=20,
        )
    return net, buses


def fault_points():
    out = []
    for name, path in PATHS.items():
        for case, tolerance, c in [("max", 10, 1.10), ("max", 6, 1.05), ("min", 6, 0.95)]:
            net, buses = chain(path, case, c)
            ka = {}
            for fault in ["1ph", "3ph", "2ph"]:
                pandapower.shortcircuit.calc_sc(net, fault=fault, case=case, lv_tol_percent=tolerance, branch_results=False)
                ka[fault] = [float(net.res_bus_sc.at[b, "ikss_ka"]) for b in buses]
            for i, bus in enumerate(buses):
                out.append(
                    dict(
                        path=name,
                        bus=net.bus.at[bus, "name"],
                        legs=i,
                        voltage_factor=c,
                        line_to_return_ka=ka["1ph"][i],
                        three_phase_ka=ka["3ph"][i],
                        line_line_ka=ka["2ph"][i],
                        loop_ohm=c * U0 / ka["1ph"][i] / 1000,
                    )
                )
    return dict(
        u0_v=U0,
        source_line_ohm=[SOURCE["line"].real, SOURCE["line"].imag],
        source_return_ohm=[SOURCE["back"].real, SOURCE["back"].imag],
        x_ohm_per_km=X_PER_KM,
        paths=[dict(path=n, legs=[list(leg) for leg in p]) for n, p in PATHS.items()],
        points=out,
    )


# Rise: sub-main, branch, and a trunk with inverters at equal distances; ohm per km of one conductor.
RISES = [
    dict(inverters=8, watt=350.0, sub_main=(1.15, 18.0), branch=(3.08, 16.0), trunk=(7.98, 1.8)),
    dict(inverters=7, watt=350.0, sub_main=(1.15, 18.0), branch=(3.08, 18.0), trunk=(7.98, 1.8)),
    dict(inverters=12, watt=290.0, sub_main=(1.83, 35.0), branch=(7.41, 24.0), trunk=(7.98, 1.2)),
    dict(inverters=1, watt=3600.0, sub_main=(1.15, 10.0), branch=(3.08, 25.0), trunk=(7.98, 1.0)),
    dict(inverters=20, watt=250.0, sub_main=(0.727, 40.0), branch=(3.08, 10.0), trunk=(4.95, 1.1)),
]


def rise_points():
    """All inverters on line 1 of a network with a neutral as large as the line: unbalanced load flow."""
    out = []
    for case in RISES:
        net = pandapower.create_empty_network(f_hz=50)
        kv = U0 * math.sqrt(3) / 1000
        buses = [pandapower.create_bus(net, vn_kv=kv)]
        # A source so stiff that the rise is that of the cables alone.
        pandapower.create_ext_grid(net, buses[0], s_sc_max_mva=1e6, rx_max=0.1, x0x_max=1.0, r0x0_max=0.1)
        pieces = [case["sub_main"], case["branch"]] + [case["trunk"]] * case["inverters"]
        for ohm, metres in pieces:
            buses.append(pandapower.create_bus(net, vn_kv=kv))
            pandapower.create_line_from_parameters(
                net,
                buses[-2],
                buses[-1],
                length_km=metres / 1000,
                r_ohm_per_km=ohm,
                x_ohm_per_km=X_PER_KM,
                c_nf_per_km=0,
                max_i_ka=0.1,
                # Neutral as large as the line: Z0 = Z1 + 3 Zn.
                r0_ohm_per_km=4 * ohm,
                x0_ohm_per_km=4 * X_PER_KM,
                c0_nf_per_km=0,
            )
        for bus in buses[3:]:
            pandapower.create_asymmetric_sgen(net, bus, p_a_mw=case["watt"] / 1e6, q_a_mvar=0, p_b_mw=0, q_b_mvar=0, p_c_mw=0, q_c_mvar=0)
        pandapower.runpp_3ph(net, max_iteration=100, tolerance_mva=1e-10)
        assert net.converged
        volts = [float(v) * U0 for v in net.res_bus_3ph["vm_a_pu"]]
        out.append(
            dict(
                **case,
                rise_v=volts[-1] - U0,
                sub_main_rise_v=volts[1] - volts[0],
                branch_rise_v=volts[2] - volts[1],
                trunk_rise_v=volts[-1] - volts[2],
            )
        )
    return dict(u0_v=U0, x_ohm_per_km=X_PER_KM, points=out)


def table():
    return dict(pv=pv_points(), fault=fault_points(), rise=rise_points())


def differences(old, new, where=""):
    if isinstance(old, dict):
        if old.keys() != new.keys():
            yield f"{where}: other keys"
            return
        for key in old:
            yield from differences(old[key], new[key], f"{where}/{key}")
    elif isinstance(old, list):
        if len(old) != len(new):
            yield f"{where}: another length"
            return
        for i, (a, b) in enumerate(zip(old, new)):
            yield from differences(a, b, f"{where}/{i}")
    elif isinstance(old, float) and isinstance(new, float):
        if not math.isclose(old, new, rel_tol=1e-4, abs_tol=1e-6):
            yield f"{where}: {old} was recorded, {new} is reckoned now"
    elif old != new:
        yield f"{where}: {old!r} was recorded, {new!r} is reckoned now"


def rounded(x):
    if isinstance(x, dict):
        return {k: rounded(v) for k, v in x.items()}
    if isinstance(x, (list, tuple)):
        return [rounded(v) for v in x]
    return float(f"{x:.8g}") if isinstance(x, float) else x


def main():
    now = rounded(table())
    if "--check" in sys.argv:
        recorded = json.loads(TABLE.read_text())["table"]
        wrong = list(differences(recorded, now))
        print("\n".join(wrong) or "the recorded table is what the models give")
        sys.exit(1 if wrong else 0)
    header = dict(
        made_by=HERE.name,
        script_sha256=hashlib.sha256(HERE.read_bytes()).hexdigest(),
        date=datetime.date.today().isoformat(),
        versions=dict(
            python=platform.python_version(),
            pvlib=pvlib.__version__,
            pandapower=pandapower.__version__,
            numpy=numpy.__version__,
            scipy=scipy.__version__,
            pandas=pandas.__version__,
        ),
    )
    TABLE.write_text(json.dumps(dict(header=header, table=now), indent=1, ensure_ascii=False) + "\n")
    print(f"{TABLE}: {sum(len(now[k]['points']) for k in now)} points")


if __name__ == "__main__":
    main()
