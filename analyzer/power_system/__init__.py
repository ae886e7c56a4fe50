"""Setup to prediction: what an airframe and its power system will do, before the propeller is bought.

`prediction.predict` is the stage as a whole::

    setup        system: the models of its sections: air, pack, speed_controller, motor, gearbox, airframe
    propeller    propeller: its size; coefficients: which curves it gets, the first of these that there is
                   coefficient_table (the user's own), family_model (measured, or between measured sizes; family_basis),
                   tied_blade_element (outside of these) <- blade_element, section_polar
                 propeller_curves: one form for all of them
    uncertain    input_spread: values of data sheets; calibrated, flown_shape, belief: where flights were fitted;
                 variants: one copy of everything for each way in which it may be off
    solved       operating_point (roots): rpm, current, thrust of all propellers, airspeeds and variants at once
                 envelope, cruise, glide_drag: best climb, level flight, pack, glide
    told         performance: the records (prediction_records) of each propeller, with intervals; limits
"""
