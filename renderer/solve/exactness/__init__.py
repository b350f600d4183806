"""How exactly to rig: what each thing that is off does, and for whom else the rig holds."""
