"""A second, plain implementation of the forecast's model, from its description alone, to check the product against.

model       the forecast by plain Monte Carlo; its docstring says how every open point was read
evidence    a brood's JSON as instants and looks
numbers, species    the constants, each with its source
evenings, clock, prior, truth, looks, likelihood, nights, contradictions, sampling, tally    the parts of the model
replicates  one answer from several independent runs, with standard errors
broods      eighteen broods of different evidence; with brood_forms and broods_ended
make_values `python -m forecast_reference.make_values`, from the folder of the tests, writes values.json
broods_hatching, make_hatching    the same for species that hatch after dark, and by degree-days; values_hatching.json
learning    what finished broods teach; with axes.  Its docstring says how every open point was read
households, make_learning    seven households with finished broods and a next one; values_learning.json
look_value  what a look to come is worth, and what each outcome would mean.  Its docstring says how it was read
make_look   three broods and their looks to come; values_look.json
stored      the loader of stored values for the tests that compare the product with them
walk        one brood by emcee; `python -m forecast_reference.walk` writes walk.json
simulate    whole broods drawn from the model, with their truth
keeper, simulate_households    whole households, watched by a careful keeper, with the truth of the brood to come
worlds      broods of worlds in which the model is wrong, and the best fixed night of each in hindsight
product     the product asked about a brood; only the tests use it

Nothing here but `product` imports the product.
"""
