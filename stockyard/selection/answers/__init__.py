"""What a maker asks beside "which boards": why not this one, what else, what to buy, what if it goes wrong.

    why not       obstacles  every reason that keeps a board out of a panel, each tested by lifting it
                  nearmiss   the least change that lets it in
                  conflict   which demands on an unmade panel cannot be met together, and the least that helps
    what else     choices    other good plans, and what each costs more
                  again      the plan around a spoiled stave or board, changing as little as possible
                  suits      what using each board would add to the best plan
    what to buy   likely     boards like those bought before
                  buying     the cheapest purchase that makes the job likely enough
    what if       survival   how likely a plan survives lost staves, and which spare to put aside

Everything here is answered by searching again with something changed, never by a score.
"""
