"""How a head throws its light, from what a person has: a measured file, two angles, or lux at distances.

text, number                what a file says, line by line, and what is wrong with it
lm63, lm63_angle, eulumdat  readers of the two formats of photometric files
opening, symmetry, record   what they have in common: one `Photometry`
read                        the one door: a path in, a `Photometry` out
table, flux                 candela over C and gamma; lumens, exactly; what to sample from
angle, check                beam and field angle; lumens held against what the file says
two_angle, lux_fit          the same tables from beam and field angle; candela from lux at distances

The readers load no numpy, so that a scene with a broken file is answered at once.

Directions are those of type C photometry (CIE 121, ANSI/IES LM-75): gamma is 0 along the beam's axis,
90 across it and 180 behind. C turns about the axis; of a luminaire that points straight down it turns
counter-clockwise as seen from above. Whoever places a table in a world names the axis and the
directions of C0 and C90 in full, see `table.CandelaTable.along`.
"""
