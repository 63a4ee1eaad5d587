"""Pairs of words that say nearly the same and differ in length. Our own list, from memory.

Each goes both ways: an editor makes a word longer as easily as shorter. Only forms that need no other
ending in their sentence are here; whether a sentence still reads well is not what is studied.
"""

from __future__ import annotations

_PAIRS = """
about:approximately after:following aim:objective also:additionally ask:request bad:adverse
before:beforehand begin:commence better:improved big:considerable blood:haemorrhage break:interrupt
bruise:haematoma but:however buy:purchase call:telephone care:attention change:alter check:examine
clean:sterile clear:transparent close:adjacent cold:chilled colour:pigment cream:ointment cut:incision
day:date deep:profound doctor:physician drink:beverage dry:desiccated early:prematurely ease:alleviate
easy:effortless end:termination enough:sufficient face:countenance feel:experience find:discover
free:release full:complete get:receive give:administer go:proceed good:beneficial hard:difficult
harm:injury heal:recover help:assist hold:retain hurt:injure keep:maintain kind:variety large:substantial
later:subsequently leave:abandon less:reduced lift:elevate like:similar long:lengthy look:appear
lump:nodule make:create mark:blemish may:might mild:moderate more:additional most:majority move:relocate
near:adjoining need:require next:subsequent now:immediately nurse:practitioner often:frequently
only:exclusively other:alternative pain:discomfort part:component place:position plan:intend
press:compress pull:traction rare:infrequent red:erythematous rest:relaxation right:appropriate
risk:probability same:identical say:communicate scar:cicatrix see:observe show:demonstrate
sign:indication skin:cutaneous slow:gradual small:minute soft:flexible some:several soon:shortly
sore:tender start:initiate stay:remain stop:discontinue strong:powerful swelling:oedema take:remove
tell:inform thin:slender tight:constricted time:occasion treatment:therapy try:attempt turn:rotate
use:utilise want:desire wash:cleanse way:method week:fortnight well:satisfactorily whole:entire
wide:extensive work:function worse:deteriorated wound:laceration
"""


def _both_ways() -> dict[str, str]:
    found: dict[str, str] = {}
    for pair in _PAIRS.split():
        short, long = pair.split(":")
        found.setdefault(short, long)
        found.setdefault(long, short)
    return found


OTHER = _both_ways()
"""A word -> its synonym of another length."""
