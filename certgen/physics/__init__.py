"""The physics floor: pure functions of floats and arrays in SI, which know nothing of files, limits or pages.

``mechanics``           torque, power, brakes, belts and gears
``electrics``           apparent and active power, wattmeters, power factor, unbalance, efficiency
``induction``           synchronous speed, slip, pole number and the power flow through the air gap
``curves``              the least-squares line, shape-preserving interpolation
``crossings``           where a curve meets a level
``equivalent_circuit``  the exact per-phase circuit of a three-phase induction machine
``thermal``             winding rise by resistance, the exponential law of heating and cooling, and fits of it
``insulation``          insulation resistance at 40 degC, polarization index
``domain``              where a formula holds: parameters refused, quotients without a value
"""
