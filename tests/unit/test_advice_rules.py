"""The editor's help, rule by rule: what each one finds and, as important, what it leaves alone.

Sentences are ours, in three manners: a clinic's leaflet, an old form, and everyday talk.
"""

from __future__ import annotations

import pytest
from test_advice import rules_for

from consentpack.advice import RULES

FOUND = {
    "passive": """
        The area is cleaned before treatment.
        The needle is then inserted under the scar.
        A photograph will be taken at each visit.
        You are advised to avoid alcohol.
        The dressing should be left in place.
        Your arm must be raised on a pillow.
        The consent form has been signed.
        Numbing fluid is being injected.
        Any questions were not answered.
        You will be asked about your medicines.
        A blunt tube is used to loosen the bands.
        The wound is covered, cleaned and then it is washed.
        The stitches are removed by the nurse.
        It wasn't explained to me.""",
    "double-negative": """
        Do not rub the scar unless we tell you to.
        Bruising is not uncommon.
        It is not impossible that the scar sinks again.
        You should not drive unless you feel well.
        Never take aspirin without asking us.
        No treatment is without risk.
        We cannot promise that it will not come back.
        There is no guarantee that further treatment will not be needed.
        Do not fail to attend.
        Nobody may enter unless they wear a mask.
        This is not an unusual result.
        Don't go home without the sheet.
        Please do not remove the pad unless it is wet.""",
    "noun-for-verb": """
        The removal of the pad takes a minute.
        After the insertion of the needle you may feel a push.
        Prior to the commencement of treatment we take a photo.
        The application of cream helps.
        We will perform an assessment.
        An examination will be carried out.
        Please make a decision within 2 weeks.
        The clinician undertakes a full evaluation.
        Avoidance of the sun is vital.
        The administration of numbing fluid may sting.
        We provide an explanation first.
        The excision of the scar leaves a line.
        The reduction of swelling takes a week.""",
    "plain-word": """
        Treatment will commence at nine.
        We commenced with the left side.
        Approximately half of people bruise.
        Please notify us at once.
        Should you require help, ask.
        Utilise the stairs.
        In the event of bleeding, press.
        You may experience pain.
        Contact us if it bleeds.
        Wait prior to driving.
        Adverse effects are rare.
        Refrain from smoking.
        However, it may sink again.
        She is terminating the visit.
        Numerous people ask this.""",
    "jargon": """
        You may get a haematoma.
        Erythema can last a week.
        Haematomas are drained.
        This may lead to necrosis.
        A seroma can form.
        Tell us about any keloid.
        The subcutaneous tissue is loose.
        Hyperpigmentation is seen on brown skin.
        We inject lidocaine.
        Infiltration comes first.
        An anticoagulant makes bruises larger.
        Paraesthesia can last.
        A haematoma is a known risk.""",
    "abbreviation": """
        We give LA first.
        Avoid NSAIDs for 2 days.
        You may need an MRI.
        IV antibiotics may help.
        PIH fades with time.
        An ECG shows the heart.
        Tell us about any DVT.
        TCA is put in the pit.
        The HCP will ring you.
        HA is a gel.
        PRP comes from your blood.""",
    "vague-time": """
        Change the dressing regularly.
        Do not swim for a few days.
        Keep it dry for some time.
        Ring us as soon as possible.
        You should rest for a while.
        Apply sunscreen frequently.
        The pad should be changed often.
        Avoid sport for several weeks.
        Take painkillers as required.
        Massage the scar often.
        Patients must return in due course.
        Use the cream when necessary.
        Please wash it at regular intervals.
        Do not fly for the next few weeks.""",
    "long-sentence": """
        You may feel a push or a pull while we work and you can ask us to stop at any time you like \
            during it.
        The clinician shall not be held liable for any result that was explained to the patient in \
            writing before the treatment began.
        We clean the skin, numb it, make one small hole, slide the needle in, cut the bands, and \
            then press on it firmly.
        If it bleeds, press on it with a clean pad for 20 minutes and do not lift it up to look at \
            it before.
        I went home on the bus after the treatment with my sister and we sat and talked for most of \
            the evening there.
        Ring us if it gets hot, gets red, smells bad, leaks pus, hurts more each day or makes you \
            feel very ill or cold.
        Some people have a lump that stays for 2 to 3 months and then goes, and others have one \
            that does not go at all.
        I hereby confirm that I have read this form and have had a chance to ask all the questions \
            that I wanted to ask.
        After the numbing wears off you may feel sore and tight, so take the pills that you would \
            take for a bad head at home.
        The bands that hold the scar down are cut with a sharp tip that goes in through one small \
            hole at the side of it.""",
}  # fmt: skip

LEFT_ALONE = {
    "passive": """
        The clinic is open all day.
        The scar is raised.
        The skin is closed and dry.
        There is reduced feeling for a day.
        The area may be swollen and bruised.
        You may get tired.
        This is called fanning.
        The needle is made of steel.
        The lump is gone.
        You will be used to it soon.
        The eye can be harmed.
        If you are worried, ring us.
        We clean the area.
        The cut is wet.
        Your sight is lost or blurred.
        The pad is better dry.
        The bands are tight.
        If the skin is broken, wait.
        Our staff are trained.
        Tell us how your diabetes is treated.
        Tell them what was done to your face.""",
    "double-negative": """
        Do not rub the skin, do not cool it and do not wait.
        This is not only for scars.
        No, you can say no at any time.
        Do not swim until it heals.
        If you do not hear from us, ring.
        You do not have to say why.
        No one can see it.
        It is not common.
        Nothing happens at first.
        Do not worry if it does not fade at once.
        Not more than 4 a day.
        Do not lift it to look.
        It is not large, but it is not small.
        Use it only if we say so.
        Say no, and nothing changes.""",
    "noun-for-verb": """
        We remove the pad.
        The injection stings.
        We give an injection.
        You decide.
        A pocket of blood can form.
        The shape of the scar matters.
        Ask for an explanation.
        Half of people bruise.
        We check your skin.
        It is part of the treatment.
        The edge of the pad is wet.
        A choice of times is fine.
        Your decision counts.""",
    "plain-word": """
        Do not play contact sport.
        Take out your contact lens.
        The following signs matter.
        An experienced clinician does it.
        The established way may suit you.
        We start at nine.
        Ask for a different treatment.
        Work with your hands.
        It is a complete set.
        That was a good experience.
        Bring your travel permit.
        Look at the monitor.
        The request is here.
        This is concerning.""",
    "jargon": """
        A pocket of trapped blood (haematoma) can form.
        A haematoma (a pocket of blood) can form.
        You may get a pocket of blood. This is called a haematoma.
        Doctors call this a haematoma.
        A haematoma is a pocket of blood.
        Haematoma means a pocket of blood.
        The medical word for this is haematoma.
        Skin that dies, or necrosis, is rare.
        Necrosis, which is dying skin, is rare.
        We numb the spot with a needle. This is local infiltration.
        Take paracetamol.
        A clinician may give antibiotics.
        Carry your adrenaline pen.
        Tell us if you take warfarin.
        You may get erythema (your skin goes red).
        People with diabetes heal more slowly.""",
    "abbreviation": """
        Do NOT rub the scar.
        ALWAYS ring us first.
        Your GP can help.
        Go to A&E.
        We give local anaesthetic (LA).
        We give LA (local anaesthetic).
        Avoid non steroidal pills (NSAIDs).
        Use SPF 50 with UVA stars.
        Skin type IV and type V can mark.
        Ring the NHS line.
        Stage II and stage III scars.
        A platelet-rich plasma (PRP) treatment.
        PIH stands for a dark mark.
        DO NOT GET IT WET.
        It is OK to walk.
        Come at 9 AM.""",
    "vague-time": """
        Change it as soon as it is wet.
        Wait 2 to 3 days.
        If it bleeds, press on it for 20 minutes.
        Do not swim until it heals.
        Ask us how often to come.
        Bruises often fade.
        Swelling should go down soon.
        Tell us if you often faint.
        You may feel sore for a few days.
        Change the pad twice a day.
        A small one can clear over a few weeks.
        Keep the pad dry.
        Ask how many times we have done it.
        The dip may fill, and you can see this soon.
        It should be healed soon.
        We often use a blunt tube.""",
    "long-sentence": """
        Keep the pad dry.
        If it bleeds, press on it for 20 minutes.
        Wait 2 to 3 days.
        No, you can say no at any time.
        Ring us on 020 7946 0123 at any time of day or night, or write to scars@example.org.
        Take 1,000 mg of paracetamol at 9.30 and at 21.30.
        We clean the skin, numb it and make one small hole.
        It may take about 6 weeks to see how well it has worked for you.
        Do not rub, press or scratch the scar for 14 days.
        The clinician does not have to treat you.
        I have read this form. I could ask what I wanted to ask. I know that I can change my mind.
        You may feel a push; tell us if it hurts.""",
}  # fmt: skip


def cases(table: dict[str, str]) -> list[tuple[str, str]]:
    return [(rule, line.strip()) for rule, text in table.items() for line in text.strip().splitlines()]


@pytest.mark.parametrize(("rule", "text"), cases(FOUND))
def test_a_rule_finds_what_an_editor_would_mend(rule, text):
    assert rules_for(text, rule)


@pytest.mark.parametrize(("rule", "text"), cases(LEFT_ALONE))
def test_a_rule_leaves_good_text_alone(rule, text):
    assert rules_for(text, rule) == []


def test_each_rule_about_sentences_has_enough_cases_both_ways():
    elsewhere = {"two-names", "no-verb", "crowded-list"}  # need more than a sentence
    assert FOUND.keys() == LEFT_ALONE.keys() == RULES.keys() - elsewhere
    assert min(len(text.strip().splitlines()) for text in FOUND.values()) >= 10
    assert min(len(text.strip().splitlines()) for text in LEFT_ALONE.values()) >= 12
