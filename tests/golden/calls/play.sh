# Plays a conversation on a copy of its call, with the answers that stand beside it, and shows what it leaves in the file.
# `call` names the conversation. Sourced from the source folder, where `drybus` is the program.
folder=$(mktemp -d)
cp "tests/golden/calls/$call.yaml" "$folder/call.yaml"
answers=$PWD/tests/golden/calls/$call.txt
(cd "$folder" && drybus call call.yaml --answers "$answers")
ended=$?
echo
sed -n '/^answers:/,$p' "$folder/call.yaml"
rm -r "$folder"
(exit $ended)
