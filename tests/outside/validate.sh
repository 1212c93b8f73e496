#!/bin/sh
# Validates every *.musicxml of a folder against the MusicXML schema, without a network.
#
#   validate.sh FOLDER SCHEMA_FOLDER
#
# FOLDER holds the pages; SCHEMA_FOLDER holds musicxml.xsd, xml.xsd and xlink.xsd. Needs xmllint (libxml2).
# Exits with 1 where a page is not valid or there is none, with 2 where the call is wrong.
set -eu

if [ $# -ne 2 ] || [ ! -d "$1" ] || [ ! -f "$2/musicxml.xsd" ]; then
    echo "usage: validate.sh FOLDER SCHEMA_FOLDER" >&2
    exit 2
fi

# The schema imports two others from the web; a copy imports the files beside it.
copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
cp "$2"/*.xsd "$copy"
sed 's|schemaLocation="http[^"]*/\([a-z]*\.xsd\)"|schemaLocation="\1"|' "$2/musicxml.xsd" >"$copy/musicxml.xsd"

count=0
failed=0
for page in "$1"/*.musicxml; do
    [ -f "$page" ] || continue
    count=$((count + 1))
    if ! message=$(xmllint --nonet --noout --schema "$copy/musicxml.xsd" "$page" 2>&1); then
        failed=$((failed + 1))
        printf '%s\n' "$message" | head -n 5
    fi
done

echo "$count pages, $failed not valid"
[ "$count" -gt 0 ] && [ "$failed" -eq 0 ]
