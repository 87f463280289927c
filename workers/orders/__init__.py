"""What is kept beside a plan for whoever fills and cuts an order: particulars, company, answers, drafts, ticks."""
