-- What the packages at hand tell of passing waste between members: to be matched before anything is counted.
INSERT INTO passed_on
SELECT member, package, id, day, stream, to_name, counted = 1, kg, 2 * own, landfill + unknown
FROM movements
WHERE waste AND counted >= 0 AND kg > 0 AND to_kind IN ('given away', 'donated') AND keep;

INSERT INTO taken_in
SELECT member, package, id, day, stream, giver, kg, 2 * own, landfill + unknown
FROM movements JOIN (SELECT package, members FROM at_hand) USING (package)
WHERE counted = 1 AND kg > 0 AND list_contains(members, giver) AND keep;

INSERT INTO on_hand
SELECT member, day, stream, added(kg * ((to_kind = 'store')::INT - (from_kind = 'store')::INT))
FROM movements
WHERE waste AND (to_kind = 'store') <> (from_kind = 'store') AND keep
GROUP BY ALL;
