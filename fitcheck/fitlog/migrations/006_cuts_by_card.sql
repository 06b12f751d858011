-- The station card that a cut's places count from, where nothing ties it to card 0; NULL where they are the tape's.
ALTER TABLE cuts ADD COLUMN from_card INTEGER CHECK (from_card >= 1);
