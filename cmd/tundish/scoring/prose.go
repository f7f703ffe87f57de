package scoring

const preface = `# How far the episodes can be trusted

What package episode tells, held against simulated houses whose truth is known because it was made to happen.

* Made by: %s
* Seeds: %s. These seeds are for this table alone; no threshold was tuned on them.
* Records: %d days for each seed, %d days for each plant and way of listening. Same program and command, same bytes (on
  amd64; other machines may round the last place differently).
* Way: the house's records go through the same decoders and the same analysis as a capture does.
* The houses are models: an appliance that behaves as none of these does may be told worse.

## The plants

`

const counting = `
## How it is counted

* True and found are paired one to one. A firing matches where both spans touch and **both** edges lie within the
  tolerance: with a bus 3 s and the time between two looks at the status (%s at 2 s); with probes alone 3 s, the time
  between two readings and half the probes' lag (%s at 5 s and 20 s). A compressor shows in the modulation only, which
  is asked for a quarter as often as the status.
* **precision**: found ones that are true. **recall**: true ones that were found. **F1**: both in one figure. **count**:
  found/true − 1. Shares are cut off, not rounded: 1.000 means all of them.
* **start**, **stop**: error of the edges in s as median / 95th percentile / bias; a positive bias is late. They are of
  all pairs that overlap each other most, whether within the tolerance or not.
* **use**, **end**: of the matched ones, those told for the right use, and with the right reason to end.
* **aside**: true ones that count for nothing since nobody could have seen them whole: nearer than %s and the tolerance
  to an end of the record or to a stretch in which the adapter was dead or no logger ran; demands, hot water and overruns
  also to one in which the mains had failed. Attempts without a flame, where the appliance answers for no counter.
* **unseen**: instantaneous hot water is made inside the appliance; the water never passes the pipes, and probes on
  them cannot know. Such firings are set aside and counted in a column of their own.
* **all** counts the episodes of all plants together, so that a plant that cycles more counts for more; the **cases** are
  left out of it.
* – : nothing to count.
`

const busWords = `
## Firings by the bus

`

const othersWords = `
## Everything else

Listening: %s; or %s.
Attempts without a flame are told by the appliance's own counter, which is asked for rarely:
they match within 5 min. Silences match within 1 min, and count from 75 s on. Hot water that a mid-position valve lets
the appliance not know of can be told from the shape of flow and return only. A lockout matches by its onset; its
reset is right where both hand and moment are. Hot water told by probes begins when the burner
lights for it: 30 s more are allowed there. An overrun matches by its beginning: when the pump stops hardly shows
in how the water cools, and its end is left open.

`

const probesWords = `
## Firings by probes on flow and return alone

A cell reads: precision as told, recall as told, recall of all (median error of start and stop, s). *As told* is at the
resolution that package episode itself states for each stretch: true burns that lie closer together than the shortest
pause it says it can tell count as one, those shorter than the shortest burn count for nothing, and so does what lies
where it says that it cannot tell at all. A firing that it calls rough (its times are not sharp) matches by
overlapping the true one more than any other does; all others must match with both edges. *Recall of all* asks for
every true firing with both edges, told or not.
`

const detailWords = `
The same in full, for a lag of %s:

`

const bothWords = `
## Firings where bus and probes listen together

Listening: %s. The flame's own signal goes before the shape: nothing is told twice.

`

const limitWords = `
## What cannot be told, and why

The shortest burn, or pause, that package episode says it can tell from flow and return, in most of the record; all
plants together:

`

const limitReasons = `
* **Short burns and pauses.** A probe follows its pipe with a lag; what comes and goes much faster than the lag leaves
  no more than noise and steps of 1/16 K behind, and what comes and goes between two readings leaves nothing.
* **Instantaneous hot water**, as said above. Where it interrupts heating, one burn looks like two, or like one that
  ended early.
* **The edges.** From the flame to the probe lie the exchanger, the pipe and the probe's own lag; what is not known of
  them stays in the edges.
* **A burner at its least output on a warm circuit** warms the flow by little more than what the return brings; starts
  after a short pause at low output are the hardest to tell.
* **A compressor** warms slowly: its edges are softer than a burner's.
* **Why a firing ended, and failed attempts**, are not in the water at all: only a bus tells.
* **A slow master** sees nothing that is shorter than the time between two looks; a lost answer doubles it.
`
