import type { RoomField } from '../../model/room.ts';
import { wordList } from '../../text/words.ts';

interface HeadingWords {
  /** Mean this field and nothing else. */
  readonly sure: readonly string[];
  /** Often mean this field; a sure heading beside them wins. */
  readonly likely: readonly string[];
}

/**
 * Usual headings of lists of rooms, devices and assets. Common practice, no source: collected from how such lists are
 * usually headed in English, German, French, Spanish, Italian, Dutch, Polish, Portuguese, Swedish, Danish, Norwegian,
 * Finnish and Czech. Compared by `normaliseHeading`, so case, accents, hyphens and full stops do not matter. A
 * word that would be right in one language and wrong in another is left out: such a column is asked for.
 */
export const headingWords: Readonly<Record<RoomField, HeadingWords>> = {
  room: {
    sure: wordList(`
      room, room no, room number, room name, room id, room code, classroom, rm,
      raum, raumnummer, raum nr, raumnr, raumname, raumbezeichnung, zimmer, zimmernummer, zimmer nr,
      klassenzimmer, klassenraum, klasse raum,
      salle, numero de salle, n de salle, no de salle, nom de la salle, salle de classe, local,
      aula, sala, numero de sala, numero sala, habitacion, salon de clases, nombre de la sala,
      stanza, numero aula, numero stanza, nome aula,
      lokaal, lokaalnummer, ruimte, ruimtenummer, kamer, zaal, leslokaal,
      numer sali, nr sali, pomieszczenie, nr pomieszczenia, pokoj, pracownia,
      sala de aula, numero da sala, n da sala, nome da sala,
      sal, rum, rumsnummer, klassrum, lokale, rom, romnummer, klasserom, huone, luokka, mistnost
    `),
    likely: wordList(`
      location, place, where, site, ort, standort, aufstellort, einsatzort,
      lieu, emplacement, localisation, lugar, ubicacion, espacio, luogo, posizione, ubicazione,
      locatie, plaats, lokalizacja, miejsce, localizacao, plats, placering, plassering, sijainti, umisteni
    `),
  },
  label: {
    sure: wordList(`
      label, model label, type label, panel label, plate, type plate, rating plate, model plate,
      model no, model number, panel model, display model, model code, model line,
      typenschild, typschild, modellbezeichnung, typenbezeichnung, typbezeichnung, geratetyp, geraetetyp,
      modellnummer, modell nr, etikett, aufkleber, paneltyp, tafelmodell, displaymodell,
      etiquette, plaque, plaque signaletique, reference du modele, modele de l ecran, modele ecran,
      etiqueta, placa, placa de caracteristicas, modelo de pantalla, modelo del panel, numero de modelo,
      etichetta, targhetta, targa, modello pannello, modello schermo, numero modello,
      typeplaatje, modelnummer, typenummer, modelaanduiding, typeaanduiding,
      etykieta, tabliczka, tabliczka znamionowa, oznaczenie modelu, model panelu, model monitora,
      chapa de caracteristicas, modelo do painel, numero do modelo, modelo do ecra,
      typskylt, modellbeteckning, typeskilt, modelbetegnelse, modellbetegnelse, tyyppikilpi, typovy stitek
    `),
    likely: wordList(`
      model, type, panel, panel type, device, device type, display, hardware, product,
      modell, typ, gerat, geraet, tafel, bildschirm, modele, ecran, appareil, modelo, pantalla, tipo,
      modello, schermo, pannello, scherm, toestel, urzadzenie, monitor, painel, skarm, skaerm, skjerm,
      malli, tyyppi
    `),
  },
  running: {
    sure: wordList(`
      running, running build, current build, build, build no, build number, firmware, firmware version,
      firmware build, current firmware, current version, installed build, installed version, software version,
      sw version, fw version, fw, os version, system version, running version, version now, build now,
      firmwarestand, firmware stand, softwarestand, software stand, aktueller build, aktuelle version,
      aktuelle firmware, laufende version, installierte version, softwareversion, firmwareversion, versionsstand,
      buildnummer, build nr, systemversion, version actuelle, version installee, version du logiciel,
      version logicielle, micrologiciel, version du micrologiciel, version du firmware, build actuel,
      version actual, version instalada, version de firmware, version del firmware, compilacion,
      version del software,
      versione attuale, versione installata, versione firmware, versione software, build attuale,
      huidige versie, geinstalleerde versie, firmwareversie, softwareversie, huidige build,
      wersja oprogramowania, oprogramowanie, biezaca wersja, obecna wersja, wersja firmware, kompilacja,
      versao atual, versao instalada, versao do firmware, versao do software, compilacao,
      nuvarande version, programvara, programvaruversion, nuvaerende version, navaerende versjon, ohjelmistoversio
    `),
    likely: [
      'version',
      'software',
      'sw',
      'stand',
      'versione',
      'versie',
      'wersja',
      'versao',
      'versjon',
      'versio',
      'verze',
      'logiciel',
    ],
  },
  serial: {
    sure: wordList(`
      serial, serial no, serial number, serialno, serialnumber, s n, sn, ser no, serial nr,
      seriennummer, serien nr, seriennr, serien no, fabriknummer, fabrikationsnummer, geratenummer,
      numero de serie, n de serie, no de serie, n serie, no serie, num serie, num de serie, serie,
      numero di serie, n di serie, matricola, numero seriale, seriale, serienummer, serienr,
      numer seryjny, nr seryjny, numer fabryczny, nr fabryczny, sarjanumero, seriove cislo, vyrobni cislo
    `),
    likely: [],
  },
  asset: {
    sure: wordList(`
      asset, asset tag, asset no, asset number, asset id, assettag, inventory, inventory no, inventory number,
      inventory tag, inventory id, inv no, tag no, asset code, barcode,
      inventarnummer, inventar nr, inventarnr, inventar, inv nr, invnr, anlagennummer, anlagen nr,
      inventarisierungsnummer,
      numero d inventaire, n d inventaire, no d inventaire, inventaire, num inventaire, code barre,
      numero de inventario, n de inventario, no de inventario, inventario, num inventario, codigo de inventario,
      numero di inventario, numero inventario, n inventario, codice inventario, cespite, codice cespite,
      inventarisnummer, inventaris, inventarisnr, activanummer,
      numer inwentarzowy, nr inwentarzowy, numer inw, nr inw, nr ewidencyjny, numer ewidencyjny,
      numero de patrimonio, n de patrimonio, patrimonio, n de inventario, codigo do bem,
      inventarienummer, inventarie nr, anlaeggsnummer, inventaarinumero, kalustonumero, inventarni cislo
    `),
    likely: ['tag', 'code', 'id', 'equipment'],
  },
  notes: {
    sure: wordList(`
      note, notes, remark, remarks, comment, comments, hint, hints, info,
      bemerkung, bemerkungen, anmerkung, anmerkungen, notiz, notizen, hinweis, hinweise, kommentar, kommentare,
      remarque, remarques, commentaire, commentaires, observation, observations, notas, nota, observaciones,
      comentario, comentarios, osservazioni, annotazioni, commenti, nota bene, opmerking, opmerkingen, notitie,
      notities,
      uwagi, uwaga, komentarz, notatki, observacoes, observacao, anmarkning, anmarkningar, bemaerkning,
      bemaerkninger, merknad, merknader, huomautus, huomautukset, poznamka, poznamky
    `),
    likely: ['description', 'beschreibung', 'descripcion', 'descrizione', 'omschrijving', 'opis', 'descricao'],
  },
  mode: {
    sure: wordList(`
      mode, update mode, update method, method, modus, updatemodus, update art, updateart, aktualisierungsart,
      verfahren, methode, mode de mise a jour, methode de mise a jour, modo, modo de actualizacion, metodo,
      modalita, modalita di aggiornamento, updatemethode, tryb, tryb aktualizacji, metoda, modo de atualizacao
    `),
    likely: [],
  },
  approval: {
    sure: wordList(`
      approval, approved, approved by, approver, wipe approved by, sign off, signed off by,
      freigabe, freigegeben, freigegeben von, freigabe durch, genehmigt, genehmigt von, genehmigung, loschfreigabe,
      loeschfreigabe,
      approbation, approuve par, approuve, autorise par, autorisation, aprobado, aprobado por, aprobacion,
      autorizado por, autorizacion,
      approvazione, approvato, approvato da, autorizzato da, autorizzazione, goedkeuring, goedgekeurd,
      goedgekeurd door, akkoord,
      zatwierdzenie, zatwierdzil, zgoda, zatwierdzone przez, aprovado, aprovado por, aprovacao, autorizacao,
      godkand av, godkannande, godkendt af, godkjent av, hyvaksyja, schvalil
    `),
    likely: [],
  },
  // Whole phrases only: a bare "starts" may be a time, and "settings" anything.
  starts: {
    sure: wordList(`
      boots, boots up, starts up, does it start, does the panel start, panel starts, startet die tafel,
      tafel startet, startet das gerat, fahrt hoch, faehrt hoch, bootet, l ecran demarre, demarre t il,
      arranca el panel, el panel arranca, il pannello si avvia, si avvia il pannello, start het scherm,
      scherm start op, monitor uruchamia sie, uruchamia sie, o painel arranca, o painel liga, skarmen startar,
      skaermen starter, skjermen starter, naytto kaynnistyy, kaynnistyy, panel se spusti
    `),
    likely: [],
  },
  air: {
    sure: wordList(`
      over the air, over the air update, ota, ota update, own update, its own update, network update, online update,
      update over the air, update over the network, automatic update says, update page says,
      eigenes update, update uber das netz, update ueber das netz, update ubers netz, online aktualisierung,
      ota aktualisierung, mise a jour en ligne, mise a jour par le reseau, mise a jour ota, actualizacion en linea,
      actualizacion por red, actualizacion ota, aggiornamento online, aggiornamento via rete, aggiornamento ota,
      update via netwerk, update via het netwerk, aktualizacja online, aktualizacja przez siec, aktualizacja ota,
      atualizacao online, atualizacao pela rede, atualizacao ota, uppdatering via natet, opdatering via nettet,
      oppdatering via nettet, verkkopaivitys, aktualizace po siti, aktualizace online
    `),
    likely: [],
  },
  settings: {
    sure: wordList(`
      settings open, settings can be opened, can sign in, sign in works, passcode known, access to settings,
      einstellungen offen, einstellungen zuganglich, anmeldung moglich, zugang zu einstellungen,
      zugang zu den einstellungen, acces aux reglages, acces aux parametres, acceso a ajustes, acceso a los ajustes,
      acceso a la configuracion, accesso alle impostazioni, toegang tot instellingen, toegang tot de instellingen,
      dostep do ustawien, acesso as definicoes, acesso as configuracoes, atkomst till installningar,
      adgang til indstillinger, tilgang til innstillinger, paasy asetuksiin, pristup k nastaveni
    `),
    likely: [],
  },
  keep: {
    sure: wordList(`
      worth keeping, anything worth keeping, anything to keep, data to keep, data worth keeping, something to keep,
      erhaltenswert, erhaltenswerte daten, etwas zu behalten, daten zu behalten, donnees a conserver,
      quelque chose a conserver, datos que conservar, algo que conservar, dati da conservare, qualcosa da conservare,
      gegevens bewaren, gegevens te bewaren, iets te bewaren, dane do zachowania, cos do zachowania,
      dados a conservar, algo a conservar, data att spara, data at gemme, data a beholde, sailytettavaa,
      data k zachovani
    `),
    likely: [],
  },
};
