from django.urls import path

from workshop.invoices import views

app_name = "invoices"
urlpatterns = [
    path("", views.list, name="list"),
    path("new/<int:pk>/", views.invoice_new, name="invoice_new"),
    path("<uuid:uid>/", views.invoice, name="invoice"),
    path("<uuid:uid>.pdf", views.paper, name="paper"),
    path("<uuid:uid>/pay/", views.pay, name="pay"),
    path("<uuid:uid>/credit/", views.credit, name="credit"),
]
