"""The steps, one module a part of the work; each builder gives the steps that apply to the drive and the vehicle.

Step ids are slugs kept for ever: a job's entries point at them.
"""
