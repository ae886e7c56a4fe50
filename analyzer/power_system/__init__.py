"""Setup to prediction: what an airframe and its power system will do, before the propeller is bought."""
