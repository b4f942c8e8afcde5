-- What a club's totals are added up from. A period is a week cut at the ends of months, so that weeks, months
-- and years all add up from it. Figures stand one a row; masses are in kg, doubts are standard uncertainties.

-- A sum of kg or kg². Two threads add floating numbers in no certain order, and the last digits would show it: so in
-- whole steps of 1e-18, of which no order makes a difference. Only absurd numbers are too large for that.
CREATE MACRO added(x) AS CASE
    WHEN max(abs(x)) < 1e12 THEN CAST(sum(CASE WHEN abs(x) < 1e12 THEN CAST(x AS DECIMAL(38, 18)) END) AS DOUBLE)
    ELSE sum(x)
END;

-- A text without the mark that keeps spreadsheets from running it.
CREATE MACRO unmarked(cell) AS CASE WHEN starts_with(cell, '''') THEN cell[2:] ELSE cell END;

-- A cause of doubt is one household's own, or the catalogue's and so the same for all of them.
CREATE MACRO cause_of(piece, member) AS
    hash(CASE WHEN starts_with(piece, 'household: ') THEN member ELSE 0 END, split_part(piece, '=', 1));
CREATE MACRO part_of(piece) AS CAST(split_part(piece, '=', 2) AS DOUBLE);

-- Which figures a kind of movement adds to, as the reckoning of a single household says.
CREATE TABLE rules (
    counted TINYINT, waste BOOLEAN, castings BOOLEAN, from_kind VARCHAR, to_kind VARCHAR,
    figure VARCHAR, sign DOUBLE, landfilled BOOLEAN
);

-- What one member handed to another counts where it was taken in, so `part` of a movement comes off the giver's
-- count: of its own row where it counted "at the door" or was passed on "from store", or, where the giver wrote
-- nothing and still has it on hand, by the receiver's row ("unwritten").
CREATE TABLE handed_on (package UINTEGER, id VARCHAR, giver UINTEGER, how VARCHAR, part DOUBLE);

-- Days of a package that another package of the same household tells.
CREATE TABLE told_elsewhere (package UINTEGER, first DATE, last DATE);

-- The packages being read: where each one's movements are, whose they are, the days and givers it says it has,
-- those of its givers that are members, and whether it is to be added to the club's tables now.
CREATE TABLE at_hand (
    package UINTEGER, member UINTEGER, file VARCHAR, first DATE, last DATE, givers VARCHAR[], members VARCHAR[],
    keep BOOLEAN
);

-- Values with the doubts that are nobody else's.
CREATE TABLE cells (
    member UINTEGER, week DATE, month DATE, stream VARCHAR, figure VARCHAR, kg DOUBLE, variance DOUBLE
);

-- Own doubts of weighings that fall into several cells: within one weighing they add up linearly.
CREATE TABLE splits (
    member UINTEGER, week DATE, month DATE, stream VARCHAR, figure VARCHAR, weighing VARCHAR, part DOUBLE
);

-- Doubts shared by many lines, of one household or (the catalogue's) of all: within one cause they add up linearly.
CREATE TABLE causes (
    member UINTEGER, week DATE, month DATE, stream VARCHAR, figure VARCHAR, cause UBIGINT, part DOUBLE
);

-- On how many days of a month a household wrote something that moved.
CREATE TABLE presence (member UINTEGER, week DATE, month DATE, days UINTEGER);

-- Waste used here, by the material it arrived as and by what would have become of it; `linear` bounds shared doubt.
CREATE TABLE used (
    member UINTEGER, year SMALLINT, material VARCHAR, stream VARCHAR,
    landfill DOUBLE, combustion DOUBLE, unknown DOUBLE, kg DOUBLE, variance DOUBLE, linear DOUBLE
);

-- Of what each member kept out of landfill, what would otherwise have become of it nobody knows.
CREATE TABLE unknown_fate (member UINTEGER, kg DOUBLE);

-- Between members: what was passed on, what was taken in, and what went into the store and out of it. `share` is the
-- part of it that counts as kept out of landfill, by the word of who wrote the row.
CREATE TABLE passed_on (
    member UINTEGER, package UINTEGER, id VARCHAR, day DATE, stream VARCHAR, receiver VARCHAR, counted BOOLEAN,
    kg DOUBLE, doubt DOUBLE, share DOUBLE
);
CREATE TABLE taken_in (
    member UINTEGER, package UINTEGER, id VARCHAR, day DATE, stream VARCHAR, giver VARCHAR, kg DOUBLE, doubt DOUBLE,
    share DOUBLE
);
CREATE TABLE on_hand (member UINTEGER, day DATE, stream VARCHAR, kg DOUBLE);
