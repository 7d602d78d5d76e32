"""The words of the notice to residents, by language; `{...}` are filled in by `notice`."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class NoticeWords:
    """Everything a notice says, in one language."""

    title: str
    draft: str
    what: str
    when: str
    out: str
    please: str
    rules: tuple[str, ...]
    signed: str
    unsigned: str
    signature: str
    questions: str
    labels: tuple[str, str, str, str, str, str]
    """day, from, to, contractor, phone, by the city"""


ENGLISH = NoticeWords(
    title="Sewer work at your address",
    draft="Draft: to be read and released by the contractor and the city before it is handed out.",
    what=(
        "We will renew the small sewer pipe between {address} and the main in the street from "
        "inside, without digging it up. A new lining is put in and hardened with steam."
    ),
    when="When",
    out=(
        "Your drains will be out of service for up to {hours}. Somebody will tell you when you "
        "can use them again."
    ),
    please="What we ask of you",
    rules=(
        (
            "Use no water from the start until we tell you it is over: no toilet, shower, sink, "
            "dishwasher or washing machine, and no pump that runs into the sewer."
        ),
        (
            "The day before, pour a quart (1 liter) of water into every drain you seldom use: "
            "floor drains, basement sinks, guest baths. It keeps odors out."
        ),
        "Close the lids of all toilets.",
        (
            "If you smell anything or see steam indoors, open windows, go outside and call the "
            "number below. If somebody feels unwell, call the emergency number first."
        ),
        "Keep away from open cleanouts, hoses and vents: steam burns.",
        (
            "Keep the cleanout free. Tell us about pets, small children or anyone who can't go "
            "without water that long."
        ),
    ),
    signed="We have your right of entry.",
    unsigned="Please sign the right of entry before that day; without it we can't begin.",
    signature="name, signature, date",
    questions="Questions, or a day that does not suit you? Call us.",
    labels=("day", "from", "to", "contractor", "phone", "city"),
)

SPANISH = NoticeWords(
    title="Trabajos de alcantarillado en su domicilio",
    draft=(
        "Borrador: una persona que hable español, el contratista y la ciudad deben revisarlo "
        "antes de repartirlo."
    ),
    what=(
        "Vamos a renovar por dentro, sin excavar, la tubería pequeña de desagüe entre {address} "
        "y la tubería principal de la calle. Se coloca un revestimiento nuevo que se endurece "
        "con vapor."
    ),
    when="Cuándo",
    out=(
        "Sus desagües estarán fuera de servicio hasta {hours}. Le avisaremos cuando pueda "
        "usarlos de nuevo."
    ),
    please="Qué le pedimos",
    rules=(
        (
            "No use agua desde el comienzo hasta que le avisemos: ni inodoro, ducha, lavabo, "
            "lavavajillas o lavadora, ni bombas que descarguen en el desagüe."
        ),
        (
            "El día anterior, vierta un litro de agua en cada desagüe que use poco: desagües de "
            "piso, lavaderos del sótano, baños de visitas. Así no entran olores."
        ),
        "Baje la tapa de todos los inodoros.",
        (
            "Si nota olor o ve vapor dentro de la casa, abra las ventanas, salga y llame al número "
            "de abajo. Si alguien se siente mal, llame primero al número de emergencias."
        ),
        "No se acerque a registros abiertos, mangueras ni salidas de vapor: el vapor quema.",
        (
            "Deje libre el registro de limpieza. Avísenos si hay mascotas, niños pequeños o "
            "personas que no puedan estar tanto tiempo sin agua."
        ),
    ),
    signed="Tenemos su permiso de entrada.",
    unsigned="Firme por favor el permiso de entrada antes de ese día; sin él no podemos empezar.",
    signature="nombre, firma, fecha",
    questions="¿Preguntas, o ese día no le conviene? Llámenos.",
    labels=("día", "desde", "hasta", "contratista", "teléfono", "ciudad"),
)

WORDS = {"en": ENGLISH, "es": SPANISH}
HOURS = {"en": ("hour", "hours"), "es": ("hora", "horas")}
