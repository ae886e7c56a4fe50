"""The air, apart from the aircraft: thermals in depth, wind, circling, polar, speed to fly, searching, start height.

Angles of direction are degrees clockwise from true north; a wind is named after the direction that it comes from.
Velocities of the air are given as east and north parts *towards* which it moves. Sink is positive down, climb
positive up.

`soar` is the stage as a whole; its modules of pure physics (`turn`, `polar`, `speed_to_fly`) and estimators (`wind`,
`circling`, `position`, `polar_fit`) know no log.
"""
