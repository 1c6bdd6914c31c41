"""Words and looks of the set-up page, in English and Spanish."""

from __future__ import annotations

from html import escape
from string import Template
from typing import Final

STYLE: Final = """\
:root { color-scheme: light dark; --ink: #16202a; --ground: #fbfaf6; --soft: #efece2; --edge: #b9b3a2; --go: #14506b; --warn: #8a3b12 }
@media (prefers-color-scheme: dark) { :root { --ink: #f0ede4; --ground: #14181c; --soft: #20262c; --edge: #4d5660; --go: #9ad3ee; --warn: #ffb48a } }
* { box-sizing: border-box }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1.0625rem/1.5 system-ui, sans-serif }
main { max-width: 42rem; margin: 0 auto; padding: 1rem 1rem 3rem }
h1 { font-size: 1.6rem; line-height: 1.2; margin: 1rem 0 .5rem }
h2 { font-size: 1.2rem; margin: 2rem 0 .5rem; padding-top: .75rem; border-top: 2px solid var(--ink) }
ol, ul { padding-inline-start: 1.6rem; margin: .5rem 0 }
li { margin: .45rem 0; padding-inline-start: .2rem }
a { color: var(--go) }
a.get { display: block; text-align: center; font-weight: 650; text-decoration: none; border: 2px solid var(--go); border-radius: 3px 16px 3px 16px; padding: .8rem 1rem; margin: .75rem 0 }
a:focus-visible { outline: 3px solid var(--go); outline-offset: 3px }
.at { overflow-wrap: anywhere; font-weight: 650 }
.warn { border-inline-start: 5px solid var(--warn); background: var(--soft); padding: .6rem .8rem; margin: 1rem 0 }
.path { font-weight: 600 }
nav { display: flex; gap: 1.2rem; flex-wrap: wrap; padding: .3rem 0; border-bottom: 1px solid var(--edge) }
nav a { padding: .6rem 0; min-width: 2.75rem }
"""
_FRAME: Final = Template("""\
<!doctype html>
<html lang="$lang">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>$style</style>
</head>
<body>
<main>
<nav aria-label="$languages"><a href="/en" hreflang="en" lang="en">English</a><a href="/es" hreflang="es" lang="es">Español</a></nav>
$text
</main>
</body>
</html>
""")
_EN: Final = Template("""\
<h1>Set this phone up for the building site</h1>
<p>Once set up, this phone opens the house over an encrypted connection, and the glove card works without signal. It takes about
five minutes, next to the desk: you need its terminal in sight.</p>
<p class="warn">Do not tap past a warning about the certificate. A page opened that way <strong>does not work without signal</strong>:
browsers keep no page of a site they do not trust. If you see such a warning, the steps below are not finished.</p>
<h2>iPhone</h2>
<ol>
<li>In Safari, tap this and allow the download:<a class="get" href="$profile">Profile for iPhone</a></li>
<li>Open <span class="path">Settings › General › VPN &amp; Device Management</span>, tap the hullwright profile, then
<span class="path">More Details</span> and the certificate. Compare its SHA-256 fingerprint with the desk's terminal, as below.</li>
<li>Tap <span class="path">Install</span>. The phone says “Not signed”: that is so, because the certificate was made by your own desk.</li>
<li>Open <span class="path">Settings › General › About › Certificate Trust Settings</span> and turn the hullwright certificate on.</li>
</ol>
<h2>Android</h2>
<ol>
<li>Tap this and keep the file:<a class="get" href="$certificate">Certificate for Android</a></li>
<li>Open <span class="path">Settings › Security › Encryption &amp; credentials › Install a certificate › CA certificate</span>
(some phones: Security &amp; privacy › More security settings). The phone warns you in general terms; tap
<span class="path">Install anyway</span> and choose the file.</li>
<li>Open <span class="path">Encryption &amp; credentials › Trusted credentials › User</span>, tap hullwright and compare its SHA-256
fingerprint with the desk's terminal, as below.</li>
<li>Use Chrome. Other browsers may not take certificates that were installed by hand.</li>
</ol>
<h2>Compare the fingerprint</h2>
<p>Hold the phone beside the desk's terminal: all 32 pairs that <em>the phone</em> shows must be those that <em>the terminal</em>
shows. Somebody on this network could have changed this page on its way, which is why it does not show them. If one pair differs, remove
the certificate at once and do not sign in.</p>
<p>This certificate can vouch for <span class="at">$name</span> and for private addresses, and for nothing else on the internet.</p>
<h2>Open the house and sign in</h2>
<ol>
<li>Open <a class="at" href="$origin/">$origin/</a> and see that no warning comes.</li>
<li>Ask the lead for an invitation (People, at the desk), scan it with the camera, and say the number that the phone shows to the desk.</li>
<li>iPhone: Share › Add to Home Screen. Android: menu › Add to Home screen. Open it from there from now on.</li>
</ol>
<h2>Test it without signal</h2>
<ol>
<li>Open <a class="at" href="$origin/#/-/ready">$origin/#/-/ready</a> and wait until it says that the page is kept.</li>
<li>Switch to aeroplane mode (Wi-Fi off too) and load the page again, the way you will use it: from the Home Screen, if you put it
there. Some phones keep the two apart.</li>
<li>It must come up and say that it was seen without signal. Switch the signal on again; at the desk this phone now stands as <em>ready</em>.</li>
</ol>
<h2>Remove it afterwards</h2>
<p>First open the card with signal and see that nothing waits to be sent. Then:</p>
<ul>
<li>iPhone: <span class="path">Settings › General › VPN &amp; Device Management</span> › hullwright › Remove Profile.</li>
<li>Android: <span class="path">Encryption &amp; credentials › Trusted credentials › User</span> › hullwright › Remove.</li>
<li>Both: ask the desk to shut this phone out (People).</li>
</ul>
""")
_ES: Final = Template("""\
<h1>Preparar este teléfono para la obra</h1>
<p>Una vez preparado, este teléfono abre la casa por una conexión cifrada, y la tarjeta para guantes funciona sin señal. Son unos
cinco minutos, junto al escritorio: hay que ver su terminal.</p>
<p class="warn">No siga adelante si aparece un aviso sobre el certificado. Una página abierta así <strong>no funciona sin señal</strong>:
el navegador no guarda páginas de un sitio en el que no confía. Si ve ese aviso, los pasos de abajo no están completos.</p>
<h2>iPhone</h2>
<ol>
<li>En Safari, toque aquí y permita la descarga:<a class="get" href="$profile">Perfil para iPhone</a></li>
<li>Abra <span class="path">Ajustes › General › VPN y gestión de dispositivos</span>, toque el perfil hullwright, luego
<span class="path">Más detalles</span> y el certificado. Compare su huella SHA-256 con la terminal del escritorio, como se explica abajo.</li>
<li>Toque <span class="path">Instalar</span>. El teléfono dice «Sin firmar»: es así porque el certificado lo hizo su propio escritorio.</li>
<li>Abra <span class="path">Ajustes › General › Información › Ajustes de confianza de los certificados</span> y active el certificado hullwright.</li>
</ol>
<h2>Android</h2>
<ol>
<li>Toque aquí y guarde el archivo:<a class="get" href="$certificate">Certificado para Android</a></li>
<li>Abra <span class="path">Ajustes › Seguridad › Cifrado y credenciales › Instalar un certificado › Certificado de CA</span>
(en algunos: Seguridad y privacidad › Más ajustes de seguridad). El teléfono da un aviso general; toque
<span class="path">Instalar de todos modos</span> y elija el archivo.</li>
<li>Abra <span class="path">Cifrado y credenciales › Credenciales de confianza › Usuario</span>, toque hullwright y compare su huella SHA-256
con la terminal del escritorio, como se explica abajo.</li>
<li>Use Chrome. Otros navegadores quizá no acepten certificados instalados a mano.</li>
</ol>
<h2>Comparar la huella</h2>
<p>Ponga el teléfono junto a la terminal del escritorio: los 32 pares que muestra <em>el teléfono</em> deben ser los que muestra
<em>la terminal</em>. Alguien en esta red podría haber cambiado esta página en el camino; por eso aquí no aparecen. Si un par es
distinto, quite el certificado enseguida y no entre.</p>
<p>Este certificado solo puede responder por <span class="at">$name</span> y por direcciones privadas, y por nada más de internet.</p>
<h2>Abrir la casa y entrar</h2>
<ol>
<li>Abra <a class="at" href="$origin/">$origin/</a> y vea que no salga ningún aviso.</li>
<li>Pida una invitación al jefe de obra (People, en el escritorio), escanéela con la cámara y diga en el escritorio el número que muestra el teléfono.</li>
<li>iPhone: Compartir › Añadir a pantalla de inicio. Android: menú › Añadir a pantalla de inicio. Desde ahora ábralo desde allí.</li>
</ol>
<h2>Probarlo sin señal</h2>
<ol>
<li>Abra <a class="at" href="$origin/#/-/ready">$origin/#/-/ready</a> y espere a que diga que la página está guardada.</li>
<li>Ponga el modo avión (Wi-Fi apagado también) y vuelva a cargar la página, tal como la va a usar: desde la pantalla de inicio, si la
puso allí. Algunos teléfonos guardan las dos por separado.</li>
<li>Debe aparecer y decir que se vio sin señal. Vuelva a encender la señal; en el escritorio este teléfono figura ahora como <em>ready</em>.</li>
</ol>
<h2>Quitarlo después</h2>
<p>Primero abra la tarjeta con señal y vea que no quede nada por enviar. Después:</p>
<ul>
<li>iPhone: <span class="path">Ajustes › General › VPN y gestión de dispositivos</span> › hullwright › Eliminar perfil.</li>
<li>Android: <span class="path">Cifrado y credenciales › Credenciales de confianza › Usuario</span> › hullwright › Quitar.</li>
<li>En ambos: pida en el escritorio que se cierre el acceso de este teléfono (People).</li>
</ul>
""")
_TEXTS: Final = {
    "en": ("Set this phone up · hullwright", "Language", _EN),
    "es": ("Preparar este teléfono · hullwright", "Idioma", _ES),
}


def page(language: str, origin: str, certificate: str, profile: str) -> str:
    """Give the set-up page.

    Parameters
    ----------
    language : str
        ``en`` or ``es``.
    origin : str
        Address of the page over TLS, without a slash at its end.
    certificate, profile : str
        Paths of the two files.

    Returns
    -------
    str
        A whole HTML document; no script, nothing from elsewhere.

    Examples
    --------
    >>> 'lang="es"' in page("es", "https://hullwright-ab12.local:8766", "/a.crt", "/a.mobileconfig")
    True
    """
    title, languages, text = _TEXTS[language]
    name = origin.removeprefix("https://").split(":")[0]
    told = {
        "origin": escape(origin),
        "name": escape(name),
        "certificate": escape(certificate),
        "profile": escape(profile),
    }
    return _FRAME.substitute(
        lang=language, title=title, languages=languages, style=STYLE, text=text.substitute(told)
    )
