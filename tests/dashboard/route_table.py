"""Every route by the least role that may use it; a new one gets its line here, when somebody thinks of it."""

from dashboard.people.person import Role

BY_ROLE: dict[Role, str] = {
    "anyone": """
        GET /ca.crt
        GET /calendar/{token}
        GET POST /first/{token}
        GET /healthz
        GET /manifest.webmanifest
        GET /metrics
        GET /offline
        GET /phone/certificate
        GET POST /sign-in
        POST /sign-in/passkey
        POST /sign-in/passkey/question
        GET HEAD /static/{version}/{name}
        GET /sw.js
    """,
    "guest": """
        GET /
        GET /airing
        GET /airing/part
        GET /api/channels
        GET /api/channels/{number}/readings
        GET /api/channels/{number}/readings.csv
        GET /api/openapi.json
        GET /api/places
        GET /api/places/{place_id}
        GET /api/places/{place_id}/air
        GET /api/places/{place_id}/air.csv
        GET /api/places/{place_id}/air/now
        GET /api/places/{place_id}/air/raw
        GET /api/probes
        GET /api/warnings
        GET /api/warnings/{warning_id}
        GET /at/any
        GET /at/{wheel_id}
        GET /care-plans
        GET /care-plans/{style_id}
        GET /caves
        GET /caves/cards
        GET /caves/{place_id}
        GET /caves/{place_id}/cooler
        GET /caves/{place_id}/figure
        GET /caves/{place_id}/now
        GET /caves/{place_id}/side-by-side
        GET /caves/{place_id}/side-by-side.csv
        GET /caves/{place_id}/side-by-side/figure
        GET /caves/{place_id}/weight
        GET /gear
        GET /gear/{gear_id}
        GET /makes
        GET /makes/{make_id}
        GET /makes/{make_id}/card
        GET /more
        GET /phone
        POST /phone/ticks
        GET /photos/{name}
        GET /places/{place_id}
        GET /probes
        GET /probes/check/{path:path}
        GET /probes/part
        GET /probes/{path:path}
        GET /rind/kinds/{kind}/vat-or-cave
        GET /rind/notes/{note_id}/look-back
        GET /rind/notes/{note_id}/look-back/file
        GET /rind/notes/{note_id}/vat-or-cave
        GET /round
        GET /round/entered
        GET /round/kept.json
        GET /round/paper
        GET /settings
        GET /settings/sign-in
        POST /settings/sign-in/passkeys
        POST /settings/sign-in/passkeys/keep
        POST /settings/sign-in/passkeys/{passkey_id}/remove
        POST /settings/sign-ins/{session_id}/end
        POST /sign-out
        GET /targets
        GET /targets/{place_id}
        GET /w/{code}
        GET /waiting
        GET /warnings
        GET /warnings/part
        GET /warnings/{warning_id}
        GET /wheels
        GET /wheels/by-age
        GET /wheels/by-age.csv
        GET /wheels/finished
        GET /wheels/ripe
        GET /wheels/{key:path}
        GET /wheels/{wheel_id}/photos
        GET /wheels/{wheel_id}/side-by-side
        GET /wheels/{wheel_id}/side-by-side.csv
        GET /wheels/{wheel_id}/side-by-side/figure
        GET /wheels/{wheel_id}/weight
    """,
    "helper": """
        PUT /api/entries/{id}
        PUT /api/photos/{id}
        POST /api/probes/{probe}/readings
        POST /at/{wheel_id}/undo/{entry_id}
        POST /at/{wheel_id}/{kind}
        GET /away
        GET /away/sheet
        POST /care-plans/{style_id}
        POST /care-plans/{style_id}/ours
        POST /caves/{place_id}/weight
        GET /correct/any
        GET POST /correct/{entry_id}
        POST /gear
        POST /gear/{gear_id}/change
        POST /gear/{gear_id}/check
        GET POST /makes/new
        GET POST /makes/{make_id}/sheet
        POST /makes/{make_id}/timer
        POST /makes/{make_id}/wheels
        GET /probes/connect
        GET /probes/connect/part
        GET POST /readings/type
        POST /round/chores/{place_id}
        POST /round/entered/undo/{entry_id}
        GET /round/lately.json
        GET /round/order
        GET POST /round/order/{place_id}
        POST /round/order/{place_id}/shift
        GET POST /round/paper/key-in
        POST /round/shelf/{place_id}
        POST /round/undo/{group_id}
        GET POST /settings/calendar
        POST /settings/calendar/end
        GET /settings/warnings
        POST /settings/warnings/phone
        POST /settings/warnings/phone/compare
        POST /settings/warnings/phone/end
        POST /settings/warnings/phone/key
        POST /settings/warnings/phone/test
        POST /settings/warnings/quiet
        POST /snoozes/on/{warning_id}
        POST /snoozes/{snooze_id}/end
        POST /warnings/{warning_id}/seen
        POST /warnings/{warning_id}/{verdict}
        GET POST /wheels/add
        POST /wheels/add/keep
        GET POST /wheels/labels
        GET POST /wheels/move
        GET POST /wheels/{wheel_id}/do/{doing}
    """,
    "owner": """
        POST /away
        POST /away/back
        POST /away/link
        GET /begin
        POST /begin/done
        POST /begin/heartbeat-later
        GET POST /places/new
        POST /places/{place_id}
        POST /places/{place_id}/close
        POST /places/{place_id}/down
        POST /places/{place_id}/lead
        POST /places/{place_id}/reopen
        POST /places/{place_id}/up
        POST /probes/check/{path:path}/beside
        POST /probes/check/{path:path}/close
        POST /probes/check/{path:path}/drop
        POST /probes/check/{path:path}/forget
        POST /probes/check/{path:path}/keep
        POST /probes/check/{path:path}/open
        POST /probes/check/{path:path}/take
        GET POST /probes/import
        GET /probes/import/part
        GET POST /probes/import/{file}
        POST /probes/import/{file}/drop
        GET POST /probes/topics
        POST /probes/topics/remove
        POST /probes/{path:path}/{do}
        GET /settings/book
        GET /settings/book/export.zip
        POST /settings/book/import
        GET /settings/book/{name}.csv
        GET /settings/changes
        GET POST /settings/copies
        POST /settings/copies/now
        POST /settings/household
        GET POST /settings/https
        GET POST /settings/keeping
        GET POST /settings/people
        GET POST /settings/people/{person_id}
        POST /settings/people/{person_id}/end
        POST /settings/people/{person_id}/invitation
        GET POST /settings/programs
        POST /settings/programs/{token_id}/end
        GET POST /settings/warnings/add/{path}
        GET /settings/warnings/duty
        POST /settings/warnings/duty/{person_id}/out
        POST /settings/warnings/duty/{person_id}/put
        POST /settings/warnings/duty/{person_id}/shift
        POST /settings/warnings/ways/{way_id}/pause
        POST /settings/warnings/ways/{way_id}/remove
        POST /settings/warnings/ways/{way_id}/resume
        POST /settings/warnings/ways/{way_id}/test
        POST /targets/{place_id}
        GET /targets/{place_id}/try
    """,
}


def table() -> dict[tuple[str, str], Role]:
    """The role of each method and path."""
    found: dict[tuple[str, str], Role] = {}
    for role, text in BY_ROLE.items():
        for line in text.split("\n"):
            *methods, path = line.split() or [""]
            found |= {(method, path): role for method in methods}
    return found
