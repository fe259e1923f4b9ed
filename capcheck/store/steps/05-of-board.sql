-- What is known of one board's references is found without a look at every part.
CREATE INDEX part_of_board ON part (board_id) WHERE board_id IS NOT NULL;
