"""Light behind fabric: a head in a fabric cylinder, and a head before flat diffusers.

beam                        how a head throws its light
fabric, grid                walls and sleeves, cut into bands, rings and sectors
coaxial, split, exchange    exact view factors inside a cylinder
landing, radiosity          first light, and all that follows
cylinder, glow, gain        solved: luminance outside, balance, what sleeves bring
diffusion, outline          flat cloths by grade, and their cells
parallel, row, row_glow     exchange between them; solved: luminance, back-scatter, balance
"""
